package lotrun

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
)

// folder is an output folder in the making: files go to a hidden folder beside
// it, which takes its place only when all of them are there.
type folder struct {
	target  string
	making  string
	replace bool   // the target exists and may be replaced
	made    string // the topmost folder made above the target, "" where none was
	settled bool
}

// command is one that writes a folder, and the files that it may write there:
// --overwrite replaces a folder of these alone, so that neither a mistyped --out
// nor another command's costs somebody's files.
type command struct {
	name  string
	files []string
	mark  string // always written: tells its folders from those of a command with fewer files
}

var (
	routeFiles = []string{
		"pipes.geojson", "nodes.geojson", "low_spots.geojson", "flow_paths.geojson", "crossings.geojson",
		"overflow_paths.geojson", "ponding.geojson", "boundary_flow.geojson", "grading.geojson", "dams.geojson",
		"review.geojson", "summary.json", "design.gpkg",
	}
	// All that terrain tells route tells anew.
	routeCommand = command{"route", append([]string{filledRaster, directionRaster, areaRaster, depthRaster}, routeFiles...), "summary.json"}
	demoCommand  = command{"demo", append([]string{DemoGround, DemoSite, DemoCriteria}, routeFiles...), DemoSite}

	terrainCommand = command{"terrain", []string{
		"low_spots.geojson", "flow_paths.geojson", "overflow_paths.geojson", "ponding.geojson", "boundary_flow.geojson",
		"grading.geojson", "dams.geojson", "summary.json", filledRaster, directionRaster, areaRaster, depthRaster,
	}, "summary.json"}
)

// The files of the invented lot.
const (
	DemoGround   = "demo-ground.tif"
	DemoSite     = "demo-site.geojson"
	DemoCriteria = "demo-criteria.yaml"
)

// newFolder prepares to write to target. It refuses a target that is no folder,
// one that an input lies in, and one that holds something, unless overwrite is set
// and the command tells all that anew.
func newFolder(of command, target string, in Inputs, overwrite bool) (*folder, error) {
	target = filepath.Clean(target)
	f := &folder{target: target}
	info, err := os.Stat(target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, &InputError{fmt.Sprintf("%s: cannot look at the output folder: %v", target, reason(err))}
	case !info.IsDir():
		return nil, &InputError{fmt.Sprintf("%s: is a file, not a folder; give --out another name", target)}
	default:
		entries, err := os.ReadDir(target)
		if err != nil {
			return nil, &InputError{fmt.Sprintf("%s: cannot read the output folder: %v", target, reason(err))}
		}
		if input := in.within(target); input != "" {
			return nil, &InputError{fmt.Sprintf("%s: lies in the output folder %s, which is replaced as a whole; give another --out", input, target)}
		}
		if len(entries) > 0 && !overwrite {
			return nil, &InputError{fmt.Sprintf("%s: output folder is not empty (%d entries); give another --out, or --overwrite to replace it", target, len(entries))}
		}
		if err := of.wrote(target, entries); err != nil {
			return nil, err
		}
		f.replace = true
	}
	parent := filepath.Dir(target)
	f.made = topmostMissing(parent)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		f.abandon()
		return nil, &InputError{fmt.Sprintf("%s: cannot make the output folder: %v; give an --out you may write to", target, reason(err))}
	}
	f.making, err = os.MkdirTemp(parent, "."+filepath.Base(target)+"-making-")
	if err != nil {
		f.abandon()
		return nil, &InputError{fmt.Sprintf("%s: cannot write beside the output folder: %v; give an --out you may write to", target, reason(err))}
	}
	f.making = filepath.Clean(f.making) // what is named in it is told by its path
	if err := os.Chmod(f.making, 0o755); err != nil {
		f.abandon()
		return nil, err
	}
	return f, nil
}

// wrote refuses a folder that is none of an earlier run of the command.
func (of *command) wrote(target string, entries []fs.DirEntry) error {
	var foreign []string
	marked := len(entries) == 0
	for _, e := range entries {
		if e.IsDir() || !slices.Contains(of.files, e.Name()) {
			foreign = append(foreign, e.Name())
		}
		marked = marked || e.Name() == of.mark
	}
	switch {
	case len(foreign) > 0:
		return &InputError{fmt.Sprintf("%s: holds %s, which %s does not write; give an --out folder of its own", target, someOf(foreign), of.name)}
	case !marked:
		return &InputError{fmt.Sprintf("%s: holds no %s, so it is no folder of %s; give an --out folder of its own", target, of.mark, of.name)}
	}
	return nil
}

// someOf names a few things and counts the others.
func someOf(names []string) string {
	const few = 3
	if len(names) <= few+1 {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:few], ", "), len(names)-few)
}

// within returns the input file that lies in a folder, by its own path or by
// the one its links lead to; "" for none.
func (in *Inputs) within(folder string) string {
	for _, path := range []string{in.DEM, in.Site, in.Criteria} {
		if path != "" && (below(path, folder, filepath.Abs) || below(path, folder, withoutLinks)) {
			return path
		}
	}
	return ""
}

// below tells whether a path leads into a folder, both as told by a function.
// What leads nowhere, such as a raster of the network, does not.
func below(path, folder string, as func(string) (string, error)) bool {
	p, err := as(path)
	f, err2 := as(folder)
	if errors.Join(err, err2) != nil {
		return false
	}
	rest, err := filepath.Rel(f, p)
	return err == nil && filepath.IsLocal(rest)
}

func withoutLinks(path string) (string, error) {
	path, err := filepath.EvalSymlinks(path)
	if err != nil {
		return "", err
	}
	return filepath.Abs(path)
}

// topmostMissing is the highest folder on a path that is not there yet.
func topmostMissing(path string) (top string) {
	for {
		if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
			return top
		}
		top = path
		path = filepath.Dir(path)
	}
}

// settle moves the finished folder into place.
func (f *folder) settle() error {
	if !f.replace {
		err := os.Rename(f.making, f.target)
		f.settled = err == nil
		return err
	}
	old := f.making + "-old"
	if err := os.Rename(f.target, old); err != nil {
		return err
	}
	if err := os.Rename(f.making, f.target); err != nil {
		return errors.Join(err, os.Rename(old, f.target))
	}
	f.settled = true
	return os.RemoveAll(old)
}

// unwritten turns a disk that filled up, or may not be written, into unusable
// output; other errors pass.
func (f *folder) unwritten(err error) error {
	if err == nil {
		return nil
	}
	text := err.Error() // the GeoPackage's own database says it in words alone
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EFBIG) || strings.Contains(text, "disk is full") || strings.Contains(text, "No space left") || strings.Contains(text, "File too large") {
		return &InputError{fmt.Sprintf("%s: the disk is full, or a file may not grow so large; make room, or give an --out elsewhere", f.target)}
	}
	if errors.Is(err, fs.ErrPermission) || errors.Is(err, syscall.EROFS) {
		return &InputError{fmt.Sprintf("%s: may not be written: %v; give an --out you may write to", f.target, reason(err))}
	}
	return err
}

// abandon leaves nothing behind of a folder that was not settled, the folders
// made above it least of all; those are removed only where they are empty.
func (f *folder) abandon() {
	if f.settled {
		return
	}
	if f.making != "" {
		_ = os.RemoveAll(f.making)
	}
	for dir := filepath.Dir(f.target); f.made != ""; dir = filepath.Dir(dir) {
		if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) || dir == f.made {
			return
		}
	}
}

// reason is an operating system error without the path we print ourselves.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
