package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A full disk is unusable output: status 2, one line, nothing left.
func TestDiskFull(t *testing.T) {
	small := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=40k", "tmpfs", small).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be mounted here: %s", bytes.TrimSpace(out))
	}
	defer func() { _ = exec.Command("umount", small).Run() }()
	l := goodLot(t)
	args := l.args()
	args[6] = filepath.Join(small, "out")
	status, stdout, stderr := runQuietly(t, args...)
	if status != exitUnusable || stdout != "" || strings.Count(stderr, "\n") != 1 || !strings.Contains(stderr, "disk is full") {
		t.Errorf("status %d, said %q, %q", status, stdout, stderr)
	}
	if left := leftovers(small); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// Ctrl-C ends with status 130 and leaves nothing behind.
func TestInterrupted(t *testing.T) {
	bin := filepath.Join(t.TempDir(), "curbfall")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("%s", out)
	}
	l := goodLot(t)
	// A lot a little too flat makes for long work: every remedy is asked.
	l.text = strings.Replace(l.text, `"type": "vertical"`, `"type": "vertical", "gutter_elevation": 250.06`, 1)
	l.write(t)
	cmd := exec.Command(bin, l.args()...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	deadline := time.Now().Add(20 * time.Second)
	for begun := false; !begun && time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		making, _ := filepath.Glob(filepath.Join(l.folder, ".*making*"))
		begun = len(making) > 0
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if code := cmd.ProcessState.ExitCode(); code != exitInterrupted {
		t.Errorf("status %d (%v), said %q", code, cmd.ProcessState.Sys().(syscall.WaitStatus), stderr.String())
	}
	if left := leftovers(l.folder); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if _, err := os.Stat(filepath.Join(l.folder, "out")); err == nil {
		t.Error("something was written")
	}
}
