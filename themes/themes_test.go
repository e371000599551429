package themes

import (
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func TestLoad(t *testing.T) {
	if !slices.Contains(Names(), Default) {
		t.Fatalf("names %v lack the default", Names())
	}
	for _, name := range append(Names(), "") {
		if _, err := Load(name); err != nil {
			t.Errorf("theme %q: %v", name, err)
		}
	}
	if _, err := Load("bensh"); err == nil || !strings.Contains(err.Error(), "bench") {
		t.Errorf("error for an unknown theme: %v", err)
	}
	if _, err := Load("../bench"); err == nil {
		t.Error("a path is no name")
	}
}

// TestContrast: text stands out from its ground by 4.5 to 1, in light and
// dark, and the bounds of what is written in, and the marks and lines of
// figures, by 3 to 1 (WCAG 2.2, success criteria 1.4.3 and 1.4.11; the ratio as
// defined there).
func TestContrast(t *testing.T) {
	for _, theme := range Names() {
		css, err := fs.ReadFile(files, theme+"/style.css")
		if err != nil {
			t.Fatal(err)
		}
		light, dark, ok := strings.Cut(string(css), "prefers-color-scheme: dark")
		if !ok {
			t.Fatalf("%s: no dark colours", theme)
		}
		for name, colours := range map[string]map[string]string{"light": properties(light), "dark": properties(dark)} {
			for _, ground := range []string{"paper", "tint", "safety"} {
				for _, ink := range []string{"ink", "soft", "link", "error", "caution", "note"} {
					if ground == "safety" && ink != "ink" && ink != "link" {
						continue
					}
					if r := contrast(t, colours[ink], colours[ground]); r < 4.5 {
						t.Errorf("%s, %s: --%s on --%s is %.2f to 1", theme, name, ink, ground, r)
					}
				}
			}
			for i := 1; i <= 4; i++ {
				accent := fmt.Sprintf("accent%d", i)
				if colours[accent] != "" {
					if r := contrast(t, colours[accent], colours["paper"]); r < 3 {
						t.Errorf("%s, %s: --%s on --paper is %.2f to 1", theme, name, accent, r)
					}
				}
			}
		}
	}
}

func properties(css string) map[string]string {
	m := map[string]string{}
	for _, p := range regexp.MustCompile(`--([\w-]+): (#[0-9a-f]{6});`).FindAllStringSubmatch(css, -1) {
		m[p[1]] = p[2]
	}
	return m
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

// luminance is the relative luminance of WCAG 2.2.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) != 7 {
		t.Fatalf("colour %q", hex)
	}
	var sum float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}
