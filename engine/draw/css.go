package draw

import (
	"fmt"
	"strings"
)

// classes is what each class of a drawing is for; a theme may style them.
var classes = map[string]string{
	"fig":            "the drawing",
	"fig-title":      "its title",
	"fig-paper":      "the paper within a frame",
	"fig-fine":       "the small squares of the paper",
	"fig-grid":       "the grid at the ticks",
	"fig-zero":       "the lines x = 0 and y = 0",
	"fig-frame":      "the axes and their ticks",
	"fig-num":        "the numbers at the ticks",
	"fig-label":      "the label of an axis or of a bar",
	"fig-key":        "an entry of the legend",
	"fig-symbol":     "a symbol for a quantity, within a label",
	"fig-script":     "a superscript or subscript, within a label",
	"fig-series1":    "a series of points: sets --fig-series",
	"fig-series2":    "likewise",
	"fig-series3":    "likewise",
	"fig-series4":    "likewise",
	"fig-mark":       "the mark of a point",
	"fig-crowd":      "the marks of very many points",
	"fig-bars":       "the uncertainty bars of a point",
	"fig-join":       "the line that joins the points of a series",
	"fig-hit":        "the place about a point where its note appears",
	"fig-fitted":     "a fitted line",
	"fig-line2":      "the line fitted to the second series, besides fig-fitted",
	"fig-line3":      "to the third",
	"fig-line4":      "to the fourth",
	"fig-steepest":   "the steepest acceptable line",
	"fig-shallowest": "the shallowest acceptable line",
	"fig-triangle":   "the slope triangle",
	"fig-leg":        "the label of a leg of the triangle",
	"fig-share":      "a bar of a bar chart",
	"fig-value":      "the value at the end of a bar",
	"fig-mean":       "the mean of a control chart",
	"fig-limit":      "a control limit",
	"fig-reference":  "a reference value",
	"fig-band":       "the uncertainty of a reference value",
	"fig-dot":        "the mark of a value on a control chart",
	"fig-ring":       "about the mark of a remarkable value",
	"fig-split":      "between two segments of a control chart",
	"fig-word":       "a small text beside a line or below an axis",
	"fig-said":       "what is said at a remarkable value",
	"fig-lead":       "from a remarkable value to what is said of it",
}

// look is one set of colours.
type look struct{ ink, paper, muted, rule, fine, accent1, accent2, accent3, accent4 string }

var (
	lightLook = look{"#1d2326", "#fffefb", "#4d5659", "#b9c6c1", "#e3eae6", "#9c2f1f", "#1f5a78", "#4b6420", "#6c4a80"}
	darkLook  = look{"#e9e6dd", "#171b1d", "#b3b9b6", "#4a5653", "#283130", "#f0937f", "#86c3e4", "#b3cc7d", "#cdaae3"}
)

// CSS returns the style sheet of the drawings. A theme sets the custom
// properties --ink, --paper, --muted, --rule, --rule-fine, --accent1 to
// --accent4 and --figure-font, on the page or on .fig; where it does not, the
// colours here hold, in a light and a dark set. In print ink is black on white.
func CSS() string {
	var b strings.Builder
	b.WriteString(".fig{" + lightLook.properties() + "display:block;max-width:100%;height:auto;color:var(--fig-ink);}\n")
	b.WriteString("@media (prefers-color-scheme:dark){.fig{" + darkLook.properties() + "}}\n")
	b.WriteString("@media print{.fig{--fig-ink:#000;--fig-paper:#fff;--fig-muted:#333;--fig-rule:#b4bfbb;--fig-fine:#dfe6e3;" +
		"--fig-accent1:#7d1f12;--fig-accent2:#123f58;--fig-accent3:#35480f;--fig-accent4:#4d3060;break-inside:avoid;}}\n")
	fmt.Fprintf(&b, `.fig text{font-family:var(--figure-font,"Liberation Sans",Arial,Helvetica,sans-serif);font-size:%dpx;fill:var(--fig-ink);stroke:none;}
.fig .fig-title{font-size:%dpx;font-weight:bold;}
.fig .fig-script{font-size:%gem;}
.fig .fig-word,.fig .fig-said{font-size:%dpx;}
`, labelSize, titleSize, scriptSize, wordSize)
	b.WriteString(rules)
	return b.String()
}

// properties gives the drawings' own custom properties, each taken from the
// theme if it has one.
func (l look) properties() string {
	var b strings.Builder
	for _, p := range [...][3]string{
		{"ink", "ink", l.ink}, {"paper", "paper", l.paper}, {"muted", "muted", l.muted},
		{"rule", "rule", l.rule}, {"fine", "rule-fine", l.fine},
		{"accent1", "accent1", l.accent1}, {"accent2", "accent2", l.accent2},
		{"accent3", "accent3", l.accent3}, {"accent4", "accent4", l.accent4},
	} {
		fmt.Fprintf(&b, "--fig-%s:var(--%s,%s);", p[0], p[1], p[2])
	}
	return b.String()
}

const rules = `.fig .fig-num,.fig .fig-key{fill:var(--fig-muted);}
.fig .fig-num{font-variant-numeric:tabular-nums;}
.fig .fig-symbol{font-style:italic;}
.fig .fig-leg,.fig .fig-value{paint-order:stroke;stroke:var(--fig-paper);stroke-width:5px;stroke-linejoin:round;}
.fig path{fill:none;stroke:var(--fig-ink);stroke-width:1px;}
.fig .fig-paper{fill:var(--fig-paper);stroke:none;}
.fig .fig-fine{stroke:var(--fig-fine);stroke-width:.6px;}
.fig .fig-grid{stroke:var(--fig-rule);stroke-width:.8px;}
.fig .fig-zero{stroke:var(--fig-muted);stroke-width:1px;}
.fig .fig-frame{stroke-width:1.3px;stroke-linecap:square;}
.fig .fig-series1{--fig-series:var(--fig-accent1);}
.fig .fig-series2{--fig-series:var(--fig-accent2);}
.fig .fig-series3{--fig-series:var(--fig-accent3);}
.fig .fig-series4{--fig-series:var(--fig-accent4);}
.fig .fig-mark{stroke:var(--fig-series);stroke-width:1.7px;}
.fig .fig-crowd{stroke:var(--fig-series);stroke-width:.7px;}
.fig .fig-bars{stroke:var(--fig-series);stroke-width:1.1px;}
.fig .fig-join{stroke:var(--fig-series);stroke-width:1px;}
.fig .fig-hit{fill:none;stroke:none;pointer-events:all;}
.fig g:hover>.fig-hit{stroke:var(--fig-series);stroke-width:1px;}
.fig .fig-fitted{stroke-width:1.5px;}
.fig .fig-line2{stroke-dasharray:17 4;}
.fig .fig-line3{stroke-dasharray:17 3 2 3;}
.fig .fig-line4{stroke-dasharray:9 3;}
.fig .fig-steepest{stroke:var(--fig-muted);stroke-width:1.2px;stroke-dasharray:5 3;}
.fig .fig-shallowest{stroke:var(--fig-muted);stroke-width:1.3px;stroke-dasharray:1.5 3;}
.fig .fig-triangle{stroke-width:1.1px;}
.fig .fig-share{fill:var(--fig-accent2);stroke:none;}
.fig .fig-word{fill:var(--fig-muted);}
.fig .fig-mean{stroke-width:1.3px;}
.fig .fig-limit{stroke-width:1.3px;stroke-dasharray:7 4;}
.fig .fig-reference{stroke:var(--fig-accent3);stroke-width:1.6px;stroke-dasharray:1.5 3;}
.fig .fig-band{fill:var(--fig-accent3);fill-opacity:.16;stroke:none;}
.fig .fig-dot{fill:var(--fig-series);stroke:var(--fig-paper);stroke-width:.8px;}
.fig .fig-ring{stroke:var(--fig-accent1);stroke-width:1.6px;}
.fig .fig-split{stroke:var(--fig-muted);stroke-width:1px;stroke-dasharray:3 3;}
.fig .fig-said{fill:var(--fig-accent1);font-weight:bold;paint-order:stroke;stroke:var(--fig-paper);stroke-width:4px;stroke-linejoin:round;}
.fig .fig-lead{stroke:var(--fig-accent1);stroke-width:.8px;}
`
