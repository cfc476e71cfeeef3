package atlas

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// sizeMost is the most a table can have, bytes: a published one has under 10 kB.
const sizeMost = 1 << 20

// Read reads a table; file is its name, for messages. Of a file with several
// blocks (estimate, upper and lower bounds) it takes the first, the estimate.
//
// Errors: *Error for a file that is not such a table: another kind or unit than
// it says, an annual-maximum series, bounds without the estimate, a row with a
// hole, numbers that do not go the way rain goes.
func Read(r io.Reader, file string) (*Table, error) {
	lines, err := readLines(r, file)
	if err != nil {
		return nil, err
	}
	f := &parser{file: file, lines: lines}
	head, err := f.head()
	if err != nil {
		return nil, err
	}
	t := &Table{Source: head.source, File: file}
	if t.Years, err = f.years(head.block); err != nil {
		return nil, err
	}
	values, err := f.rows(t, head.block+1)
	if err != nil {
		return nil, err
	}
	if err := f.judge(t, head, values); err != nil {
		return nil, err
	}
	for d, row := range values {
		for y := range row {
			row[y] *= head.unit
			if head.depth {
				row[y] /= t.Durations[d]
			} else {
				row[y] /= hour
			}
		}
	}
	t.Intensity = values
	if err := f.plausible(t); err != nil {
		return nil, err
	}
	return t, nil
}

func readLines(r io.Reader, file string) ([]string, error) {
	in := bufio.NewScanner(io.LimitReader(r, sizeMost+1))
	in.Buffer(nil, sizeMost)
	var lines []string
	size := 0
	for in.Scan() {
		size += len(in.Bytes()) + 1
		lines = append(lines, strings.TrimSpace(strings.TrimPrefix(in.Text(), "\ufeff")))
	}
	if err := in.Err(); err != nil && !errors.Is(err, bufio.ErrTooLong) {
		return nil, fmt.Errorf("%s: %w", file, err)
	} else if err != nil || size > sizeMost {
		return nil, &Error{File: file, Says: "is too long for a rainfall table"}
	}
	return lines, nil
}

type parser struct {
	file  string
	lines []string
	at    []int // line of each row, from 1
}

func (f *parser) faulty(line int, format string, a ...any) error {
	return &Error{f.file, line, fmt.Sprintf(format, a...)}
}

// header is what a file says of itself.
type header struct {
	source string
	depth  bool    // else intensity
	unit   float64 // m of its unit of length
	block  int     // index of the line that names the columns
}

// Words of the layout. Public copies were read of volumes 8, 9 and 12; tables in
// millimetres are from memory.
const (
	titleStart  = "point precipitation frequency estimates ("
	columnsARI  = "by duration for ari (years):"
	columnsStem = "by duration for "
	kindStart   = "data type:"
	seriesStart = "time series type:"
)

// head reads the lines above the numbers. Their count varies.
func (f *parser) head() (header, error) {
	h := header{block: -1}
	unit, kind, series := "", "", ""
	unitLine, kindLine := 0, 0
	for k, line := range f.lines {
		low := strings.ToLower(line)
		switch {
		case strings.HasPrefix(low, titleStart):
			unit, _, _ = strings.Cut(low[len(titleStart):], ")")
			unitLine = k + 1
			if k+1 < len(f.lines) {
				h.source = f.lines[k+1]
			}
		case strings.HasPrefix(low, kindStart):
			kind, kindLine = strings.TrimSpace(low[len(kindStart):]), k+1
		case strings.HasPrefix(low, seriesStart):
			if series = strings.TrimSpace(low[len(seriesStart):]); !strings.HasPrefix(series, "partial") {
				return h, f.faulty(k+1, "is the %s series; take the partial duration one, whose columns are years", series)
			}
		case strings.HasPrefix(low, columnsStem):
			h.block = k
		}
		if h.block >= 0 {
			break
		}
	}
	switch {
	case h.block < 0:
		return h, f.faulty(0, `has no line "by duration for ARI (years):"; is it the rainfall table as CSV?`)
	case unitLine == 0:
		return h, f.faulty(0, "does not say its unit; its first line should be %q", "Point precipitation frequency estimates (inches)")
	case strings.Contains(strings.ToLower(f.titleAbove(h.block)), "bound"):
		return h, f.faulty(h.block+1, "starts with %q; take the file with the estimates first", f.titleAbove(h.block))
	}
	length, perHour := strings.CutSuffix(unit, "/hour")
	switch length {
	case "inches":
		h.unit = inch
	case "millimeters":
		h.unit = millimetre
	default:
		return h, f.faulty(unitLine, "is in %q; known are inches and millimeters, with or without /hour", unit)
	}
	h.depth = !perHour
	switch kind {
	case "":
		return h, f.faulty(0, `does not say whether it holds depth or intensity; there should be a line "Data type: Precipitation depth"`)
	case "precipitation depth", "precipitation intensity":
	default:
		return h, f.faulty(kindLine, "holds %q; known are precipitation depth and precipitation intensity", kind)
	}
	if says := kind == "precipitation depth"; says != h.depth {
		return h, f.faulty(kindLine, "says %s, but its first line says %s: one of the two is wrong", kind, unit)
	}
	return h, nil
}

// titleAbove is the last line with words above a line.
func (f *parser) titleAbove(k int) string {
	for k--; k >= 0; k-- {
		if f.lines[k] != "" {
			return f.lines[k]
		}
	}
	return ""
}

func (f *parser) years(block int) ([]float64, error) {
	low := strings.ToLower(f.lines[block])
	if !strings.HasPrefix(low, columnsARI) {
		return nil, f.faulty(block+1, "its columns are %q, not return periods; take the partial duration table", strings.SplitN(f.lines[block], ":", 2)[0])
	}
	years, err := f.numbers(block, f.lines[block][len(columnsARI):])
	if err != nil {
		return nil, err
	}
	for k, y := range years {
		if !(y > 0) || k > 0 && y <= years[k-1] {
			return nil, f.faulty(block+1, "return periods do not rise: %s", list(years))
		}
	}
	return years, nil
}

// numbers reads what follows a label: a comma, then values.
func (f *parser) numbers(k int, text string) ([]float64, error) {
	text = strings.TrimPrefix(strings.TrimSpace(text), ",")
	var values []float64
	for n, field := range strings.Split(text, ",") {
		v, err := strconv.ParseFloat(strings.TrimSpace(field), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
			return nil, f.faulty(k+1, "value %d is %q, not a number of zero or more", n+1, strings.TrimSpace(field))
		}
		values = append(values, v)
	}
	return values, nil
}

// rows reads the durations below the columns' names, up to the first line that
// is none.
func (f *parser) rows(t *Table, from int) ([][]float64, error) {
	var values [][]float64
	for k := from; k < len(f.lines); k++ {
		label, rest, ok := strings.Cut(f.lines[k], ":")
		duration, known := seconds(label)
		if !ok || !known {
			break
		}
		row, err := f.numbers(k, rest)
		if err != nil {
			return nil, err
		}
		if len(row) != len(t.Years) {
			return nil, f.faulty(k+1, "%s has %d values for %d return periods", label, len(row), len(t.Years))
		}
		if n := len(t.Durations); n > 0 && duration <= t.Durations[n-1] {
			return nil, f.faulty(k+1, "%s follows %s: durations should rise", label, t.Labels[n-1])
		}
		t.Durations, t.Labels = append(t.Durations, duration), append(t.Labels, label)
		values, f.at = append(values, row), append(f.at, k+1)
	}
	if len(values) == 0 {
		return nil, f.faulty(from, `has no durations such as "5-min:" below this line`)
	}
	return values, nil
}

// seconds reads a label such as 5-min, 2-hr or 3-day.
func seconds(label string) (float64, bool) {
	count, unit, _ := strings.Cut(strings.ToLower(strings.TrimSpace(label)), "-")
	n, err := strconv.ParseFloat(count, 64)
	of := map[string]float64{"min": minute, "hr": hour, "day": day}[unit]
	return n * of, err == nil && n > 0 && of > 0 && !math.IsInf(n, 0)
}
