package blocks_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// twoWays are readings of a rod turned one way and the other: groups that lie
// far apart, or near each other, with a line of one slope.
func twoWays(offset, scatter float64, show string) string {
	var b strings.Builder
	b.WriteString("```data w\nm / kg, one / °, other / °\n")
	for i := range 6 {
		x, e := 0.4*float64(i), scatter*float64(i*i%3-1)
		fmt.Fprintf(&b, "%.1f, %.3f, %.3f\n", x, 20+8*float64(i)+e, 20+offset+8*float64(i)-e)
	}
	b.WriteString("```\n```fit line\ny: [w.one, w.other]\nx: w.m\n```\n```plot graph\ny: [w.one, w.other]\nx: w.m\nfit: line\nshow: [" + show + "]\n```\n")
	return b.String()
}

var limitPath = regexp.MustCompile(`class="fig-(?:steepest|shallowest)" d="([^"]*)"`)

// TestLimitsGoThroughThePoints: each acceptable line crosses the fitted line of
// its group, in the frame of the group.
func TestLimitsGoThroughThePoints(t *testing.T) {
	for _, offset := range []float64{-300, 4} {
		page := files{"record.md": twoWays(offset, 3, "points, line, limits")}.page(t, view.AsRecord)
		svg := page[strings.Index(page, "<svg"):strings.Index(page, "</svg>")]
		if n := strings.Count(svg, `"fig-paper"`); n != map[bool]int{true: 2, false: 1}[offset < -100] {
			t.Errorf("offset %g: %d frames", offset, n)
		}
		var fitted [][]float64
		for _, m := range regexp.MustCompile(`class="fig-fitted[^"]*" d="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
			if v := pathNumbers(t, m[1]); len(v) == 4 { // those of the legend have no rise
				fitted = append(fitted, v)
			}
		}
		limits := 0
		for _, m := range limitPath.FindAllStringSubmatch(svg, -1) {
			v := pathNumbers(t, m[1])
			if len(v) != 4 {
				continue
			}
			limits++
			nearest := math.Inf(1)
			for _, l := range fitted {
				mid := l[0] + l[2]/2 // of the fitted line, which is never clipped
				nearest = math.Min(nearest, math.Abs(v[1]+v[3]/v[2]*(mid-v[0])-l[1]-l[3]/2))
			}
			if nearest > 0.05 {
				t.Errorf("offset %g: the middle of an acceptable line lies %.1f px from the nearest fitted line", offset, nearest)
			}
		}
		if len(fitted) != 2 || limits != 4 {
			t.Errorf("offset %g: %d fitted and %d acceptable lines", offset, len(fitted), limits)
		}
		if strings.Contains(page, "are not drawn") || strings.Contains(page, "are drawn for") {
			t.Errorf("offset %g: the lines are said to be left out", offset)
		}
	}
}

// TestLimitsTooNearAreTold: lines that could not be told from the fitted line are
// left out of the graph and its legend, and the caption says how near they are.
func TestLimitsTooNearAreTold(t *testing.T) {
	page := files{"record.md": twoWays(4, 0.05, "points, line, limits")}.page(t, view.AsRecord)
	if limitPath.MatchString(page) || strings.Contains(page, "steepest acceptable</text>") {
		t.Error("an acceptable line is drawn")
	}
	if !regexp.MustCompile(`acceptable line \(95[\s\x{a0}]%\) are not drawn: they are at most <data[^>]*>0\.0\d+`).MatchString(page) {
		t.Error("nobody says how near they are")
	}
}

// TestLimitsOfNearGroups: of lines that lie close together one has its limits,
// and the caption says which.
func TestLimitsOfNearGroups(t *testing.T) {
	page := files{"record.md": twoWays(0.5, 3, "points, line, limits")}.page(t, view.AsRecord)
	if n := len(limitPath.FindAllString(page, -1)); n != 4 { // on the graph and in the legend
		t.Errorf("%d acceptable lines, with those of the legend", n)
	}
	if !strings.Contains(page, "The acceptable lines are drawn for one alone") {
		t.Errorf("the caption is %s", regexp.MustCompile(`<figcaption>.*`).FindString(page))
	}
}

// TestCaptions: what the bars are is said where there are any; a caption of our
// own begins like a sentence, a symbol stays as it is.
func TestCaptions(t *testing.T) {
	page := files{"record.md": twoWays(4, 3, "points, line, bars")}.page(t, view.AsRecord)
	if !regexp.MustCompile(`<figcaption>One, other against m\. Bars: expanded uncertainty of a point, 95[\s\x{a0}]% \(k[\s\x{a0}]=[\s\x{a0}]<span class="kept"><data[^>]*>2\.\d\d</data>\)\.</span></figcaption>`).MatchString(page) {
		t.Errorf("the caption is %s", regexp.MustCompile(`<figcaption>.*`).FindString(page))
	}
	page = files{"record.md": twoWays(4, 3, "points, line")}.page(t, view.AsRecord)
	if !strings.Contains(page, "<figcaption>One, other against m</figcaption>") {
		t.Errorf("the caption is %s", regexp.MustCompile(`<figcaption>.*`).FindString(page))
	}
	page = files{"record.md": "```data w\nE / mm, x / kg\n1, 1\n2, 2\n4, 3\n```\n```plot g\ny: w.E\nx: w.x\n```\n"}.page(t, view.AsRecord)
	if !strings.Contains(page, "<figcaption>E against x</figcaption>") {
		t.Errorf("the caption is %s", regexp.MustCompile(`<figcaption>.*`).FindString(page))
	}
}
