package draw

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestCSSKnowsEveryClass(t *testing.T) {
	css := CSS()
	for c := range classes {
		if c == "fig-label" || c == "fig-hit" { // looks like any other text
			continue
		}
		if !regexp.MustCompile(`\.` + c + `\b`).MatchString(css) {
			t.Errorf("the style sheet says nothing of %s", c)
		}
	}
	for _, m := range regexp.MustCompile(`\.(fig[-a-z0-9]*)`).FindAllStringSubmatch(css, -1) {
		if classes[m[1]] == "" {
			t.Errorf("the style sheet has the class %s, which no drawing has", m[1])
		}
	}
	for _, m := range regexp.MustCompile(`var\((--fig-[a-z0-9]+)`).FindAllStringSubmatch(css, -1) {
		if !strings.Contains(css, m[1]+":") {
			t.Errorf("%s is used but never set", m[1])
		}
	}
	if strings.Count(css, "{") != strings.Count(css, "}") {
		t.Error("the braces of the style sheet do not match")
	}
	for _, media := range []string{"@media (prefers-color-scheme:dark)", "@media print"} {
		if !strings.Contains(css, media) {
			t.Errorf("the style sheet has no %s", media)
		}
	}
}

// luminance is the relative luminance of a colour #rrggbb (WCAG 2.2).
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(colour[1:], 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("colour %q", colour)
	}
	linear := func(c uint64) float64 {
		s := float64(c&0xff) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(v>>16) + 0.7152*linear(v>>8) + 0.0722*linear(v)
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// TestContrast holds the colours to WCAG 2.2: 4.5 for text (1.4.3), 3 for marks
// (1.4.11), and the grid quieter than any mark.
func TestContrast(t *testing.T) {
	if c := contrast(t, "#000000", "#ffffff"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("black on white has a contrast of %g, not 21", c)
	}
	for _, l := range []look{lightLook, darkLook} {
		for _, text := range []string{l.ink, l.muted} {
			if c := contrast(t, text, l.paper); c < 4.5 {
				t.Errorf("text %s on %s: %.2f", text, l.paper, c)
			}
		}
		for _, mark := range []string{l.accent1, l.accent2, l.accent3, l.accent4} {
			if c := contrast(t, mark, l.paper); c < 4.5 {
				t.Errorf("mark %s on %s: %.2f", mark, l.paper, c)
			}
			if c := contrast(t, mark, l.rule); c < 3 {
				t.Errorf("mark %s on the grid %s: %.2f", mark, l.rule, c)
			}
		}
		if contrast(t, l.fine, l.paper) >= contrast(t, l.rule, l.paper) {
			t.Error("the small squares are stronger than the grid")
		}
	}
}

// TestTextIsReadableOnAPhone: on a screen 360 px wide with margins of 12 px, text
// is at least 9 px high.
func TestTextIsReadableOnAPhone(t *testing.T) {
	if px := labelSize * (360.0 - 24) / usualWidth; px < 9 {
		t.Errorf("labels are %.2f px high", px)
	}
	if px := labelSize * (360.0 - 24) / barsWidth; px < 11 {
		t.Errorf("the words of a bar chart are %.2f px high", px)
	}
}
