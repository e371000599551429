// Package strd reads data sets of the NIST Statistical Reference Datasets for
// the tests, and counts how many digits a computed value shares with a
// certified one.
package strd

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
)

// Columns returns the columns of numbers after the last line that begins with
// "Data:", in the order of the file (for regressions the response is first).
func Columns(path string) ([][]float64, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	text := string(raw)
	at := strings.LastIndex(text, "\nData:")
	if at < 0 {
		return nil, fmt.Errorf("%s: no data section", path)
	}
	var columns [][]float64
	for _, line := range strings.Split(text[at+1:], "\n")[1:] {
		fields := strings.Fields(line)
		if len(fields) == 0 || strings.HasPrefix(fields[0], "---") {
			continue
		}
		if columns == nil {
			columns = make([][]float64, len(fields))
		}
		if len(fields) != len(columns) {
			return nil, fmt.Errorf("%s: %d fields instead of %d: %q", path, len(fields), len(columns), line)
		}
		for i, f := range fields {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", path, err)
			}
			columns[i] = append(columns[i], v)
		}
	}
	return columns, nil
}

// LRE is the log relative error of NIST's comparisons, the number of correct
// digits: −log10(|got − want|/|want|), at most 15; absolute where want is 0.
func LRE(got, want float64) float64 {
	diff := math.Abs(got - want)
	if want != 0 {
		diff /= math.Abs(want)
	}
	switch {
	case math.IsNaN(diff):
		return 0
	case diff < 1e-15:
		return 15
	}
	return max(0, -math.Log10(diff))
}
