package archive

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// Status says how a record that was built again compares with what was sealed.
type Status string

// The statuses, from the best to the worst.
const (
	Unchecked Status = "not run again"
	Identical Status = "identical" // byte for byte
	Rounding  Status = "rounding"  // every number within 1e-9 of its size, all else the same
	Changed   Status = "changed"
)

func (s Status) rank() int { return slices.Index([]Status{Unchecked, Identical, Rounding, Changed}, s) }

func worse(a, b Status) Status {
	if a.rank() < b.rank() {
		return b
	}
	return a
}

// Change is a difference between what was sealed and what the record's own
// data give.
type Change struct {
	What     string   `json:"what"`   // `values.E.value`, in the results file; `page` for a line of the page
	Sealed   string   `json:"sealed"` // "" where there was none
	Again    string   `json:"again"`  // what the data give; "" for nothing
	Relative *float64 `json:"relative,omitempty"`
}

// withinRounding is how far two numbers may be from one another, relative to
// their size, so that their difference is put down to the processor's rounding.
const withinRounding = 1e-9

// comparison is how two files compare.
type comparison struct {
	status   Status
	changes  []Change
	more     int  // changes that are not listed
	reworded bool // another version says something in other words
}

// mostChanges is how many changes are listed of one file.
const mostChanges = 40

func (c *comparison) add(x Change) {
	c.status = Changed
	if len(c.changes) == mostChanges {
		c.more++
		return
	}
	c.changes = append(c.changes, x)
}

// compareResults compares two results files. Where they are of different
// versions of the engine, findings and wordings may differ, and what only the
// later one tells is no change.
func compareResults(sealed, again []byte, versions bool) *comparison {
	c := &resultsComparer{comparison: comparison{status: Identical}, versions: versions}
	if bytes.Equal(sealed, again) {
		return &c.comparison
	}
	a, err := decode(sealed)
	if err != nil {
		c.add(Change{What: "results.json", Sealed: "no JSON: " + err.Error()})
		return &c.comparison
	}
	b, err := decode(again)
	if err != nil {
		c.add(Change{What: "results.json", Again: "no JSON: " + err.Error()})
		return &c.comparison
	}
	c.compare("", a, b, 0)
	if c.status == Identical && !versions {
		c.add(Change{What: "results.json", Sealed: "the same numbers, written in another way"})
	}
	return &c.comparison
}

func decode(text []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	var v any
	err := d.Decode(&v)
	return v, err
}

type resultsComparer struct {
	comparison
	versions bool
}

// compare compares two values; scale is the size of the quantity that they
// belong to, 0 where it is their own.
func (c *resultsComparer) compare(at string, a, b any, scale float64) {
	if c.versions && (at == "taut" || at == "findings") {
		return
	}
	switch x := a.(type) {
	case map[string]any:
		if y, ok := b.(map[string]any); ok {
			c.maps(at, x, y)
			return
		}
	case []any:
		if y, ok := b.([]any); ok && len(x) == len(y) {
			size := math.Max(largest(x), largest(y))
			for i := range x {
				c.compare(fmt.Sprintf("%s[%d]", at, i), x[i], y[i], size)
			}
			return
		}
	case json.Number:
		if y, ok := b.(json.Number); ok {
			c.numbers(at, x, y, scale)
			return
		}
	case string:
		if y, ok := b.(string); ok && (x == y || c.versions && sameNumbers(x, y)) {
			c.reworded = c.reworded || x != y
			return
		}
	default:
		if a == b {
			return
		}
	}
	c.add(Change{What: at, Sealed: shown(a), Again: shown(b)})
}

func (c *resultsComparer) maps(at string, x, y map[string]any) {
	// The size of a value is that of its uncertainty where the value itself is
	// all but zero.
	scale := math.Max(magnitude(x["u"]), magnitude(y["u"]))
	var keys []string
	for k := range x {
		keys = append(keys, k)
	}
	for k := range y {
		if _, both := x[k]; !both {
			keys = append(keys, k)
		}
	}
	sort.Strings(keys)
	for _, k := range keys {
		a, inA := x[k]
		b, inB := y[k]
		below := k
		if at != "" {
			below = at + "." + k
		}
		switch {
		case inA && inB:
			c.compare(below, a, b, scale)
		case inA:
			c.add(Change{What: below, Sealed: shown(a)})
		case !c.versions:
			c.add(Change{What: below, Again: shown(b)})
		}
	}
}

func (c *resultsComparer) numbers(at string, a, b json.Number, scale float64) {
	if a == b {
		return
	}
	x, err := a.Float64()
	y, err2 := b.Float64()
	if err == nil && err2 == nil {
		distance := math.Abs(x - y)
		scale = math.Max(scale, math.Max(math.Abs(x), math.Abs(y)))
		if distance <= withinRounding*scale {
			c.status = worse(c.status, Rounding)
			return
		}
		if relative := distance / math.Max(math.Abs(x), math.Abs(y)); !math.IsInf(relative, 0) && !math.IsNaN(relative) {
			c.add(Change{What: at, Sealed: a.String(), Again: b.String(), Relative: &relative})
			return
		}
	}
	c.add(Change{What: at, Sealed: a.String(), Again: b.String()})
}

func magnitude(v any) float64 {
	n, ok := v.(json.Number)
	if !ok {
		return 0
	}
	f, err := n.Float64()
	if err != nil {
		return 0
	}
	return math.Abs(f)
}

func largest(list []any) float64 {
	m := 0.0
	for _, v := range list {
		m = math.Max(m, magnitude(v))
	}
	return m
}

// shown is a value in one short line.
func shown(v any) string {
	switch v := v.(type) {
	case string:
		return short(v)
	case json.Number:
		return v.String()
	case nil:
		return "null"
	case bool:
		return strconv.FormatBool(v)
	case []any:
		return counted(len(v), "element")
	}
	text, err := json.Marshal(v)
	if err != nil {
		return "?"
	}
	return short(string(text))
}

// longestShown is the length of the longest piece of a foreign text in a
// change, in characters.
const longestShown = 100

func short(s string) string {
	s = oneLine(strings.ToValidUTF8(s, "\uFFFD"))
	if r := []rune(s); len(r) > longestShown {
		return string(r[:longestShown]) + "…"
	}
	return s
}

var numberForm = regexp.MustCompile(`\d+(?:[.,]\d+)*`)

// sameNumbers reports whether two texts hold the same numbers, in whatever
// order.
func sameNumbers(a, b string) bool {
	x, y := numberForm.FindAllString(a, -1), numberForm.FindAllString(b, -1)
	sort.Strings(x)
	sort.Strings(y)
	return slices.Equal(x, y)
}
