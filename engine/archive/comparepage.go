package archive

import (
	"bytes"
	"encoding/xml"
	"io"
	"strings"
)

// comparePages compares two pages. Those of one version are the same to the
// byte, or something was changed; of those of two versions the numbers are.
// versions are the two, or nil for one version.
func comparePages(sealed, again []byte, versions []string) *comparison {
	c := &comparison{status: Identical}
	if bytes.Equal(sealed, again) {
		return c
	}
	a, errA := visible(sealed)
	b, errB := visible(again)
	if errA != nil || errB != nil {
		c.add(Change{What: "page", Sealed: faulty(errA), Again: faulty(errB)})
	}
	only, other := differing(a, b)
	if versions != nil {
		if sameNumbers(without(only, versions), without(other, versions)) {
			c.reworded = true
			return c
		}
	}
	for i := range max(len(only), len(other)) {
		x := Change{What: "page"}
		if i < len(only) {
			x.Sealed = short(only[i])
		}
		if i < len(other) {
			x.Again = short(other[i])
		}
		c.add(x)
	}
	if c.status == Identical {
		x, y := around(sealed, again)
		c.add(Change{What: "page, in its markup", Sealed: x, Again: y})
	}
	return c
}

func faulty(err error) string {
	if err == nil {
		return "a page"
	}
	return "no page: " + err.Error()
}

// without joins lines and takes the names of versions out of them.
func without(lines, versions []string) string {
	text := strings.Join(lines, "\n")
	for _, v := range versions {
		text = strings.ReplaceAll(text, v, "")
	}
	return text
}

// inline are the elements that do not begin a line of their own.
var inline = map[string]bool{
	"a": true, "abbr": true, "b": true, "code": true, "del": true, "em": true, "i": true, "ins": true, "mark": true, "s": true, "small": true,
	"span": true, "strong": true, "sub": true, "sup": true, "time": true, "tspan": true, "var": true,
	"math": true, "mfrac": true, "mi": true, "mn": true, "mo": true, "mover": true, "mrow": true, "mspace": true, "msqrt": true, "mroot": true,
	"mstyle": true, "msub": true, "msubsup": true, "msup": true, "mtext": true, "munder": true, "munderover": true, "semantics": true,
}

// visible are the lines of text in a page.
func visible(page []byte) ([]string, error) {
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Entity = xml.HTMLEntity
	var lines []string
	var text strings.Builder
	flush := func() {
		if l := oneLine(strings.Join(strings.Fields(text.String()), " ")); l != "" {
			lines = append(lines, l)
		}
		text.Reset()
	}
	for {
		tok, err := d.Token()
		if err == io.EOF {
			flush()
			return lines, nil
		}
		if err != nil {
			flush()
			return lines, err
		}
		switch t := tok.(type) {
		case xml.StartElement:
			if t.Name.Local == "style" {
				if err := d.Skip(); err != nil {
					return lines, err
				}
			} else if !inline[t.Name.Local] {
				flush()
			}
		case xml.EndElement:
			if !inline[t.Name.Local] {
				flush()
			}
		case xml.CharData:
			text.Write(t)
		}
	}
}

// differing returns the lines of each of two texts that the other has not as
// often, in their order.
func differing(a, b []string) (only, other []string) {
	count := map[string]int{}
	for _, l := range b {
		count[l]++
	}
	for _, l := range a {
		if count[l]--; count[l] < 0 {
			only = append(only, l)
		}
	}
	clear(count)
	for _, l := range a {
		count[l]++
	}
	for _, l := range b {
		if count[l]--; count[l] < 0 {
			other = append(other, l)
		}
	}
	return only, other
}

// around shows where two texts begin to differ.
func around(a, b []byte) (string, string) {
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	piece := func(t []byte) string { return short(string(t[max(0, i-20):min(len(t), i+40)])) }
	return piece(a), piece(b)
}
