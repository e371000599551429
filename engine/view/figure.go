package view

// Figure is a graph with, below it, an optional panel of residuals that shares
// its x axis. All numbers are in the units of the axes.
type Figure struct {
	ID       string
	Title    string
	Notes    []Text // sentences that stand below the graph, after the title
	Desc     string // what the graph shows, in words and numbers
	X, Y     Axis
	Series   []Series
	Lines    []Line
	Triangle *Triangle
	Residual *Panel
	Paper    *Paper // graph paper of true size; nil for none
	Grid     bool   // nothing but the paper, with labelled but unscaled axes
	Standing Standing
}

// Paper is graph paper, ruled in centimetres of true size. A graph takes as
// much of it as its points fill well.
type Paper struct {
	Width, Height int  // of the ruled part, in centimetres
	Scale         bool // say what one centimetre stands for
}

// Axis is labelled quantity / unit.
type Axis struct {
	Quantity string
	Unit     string
}

// Panel is a second graph below the first.
type Panel struct {
	Y      Axis
	Series []Series
	Zero   bool // draw the line y = 0
}

// Series is a set of points of one kind. Frame tells in which frame it stands:
// 0 for the topmost. Frames have one x axis, and y axes of one scale.
type Series struct {
	Name   string
	Frame  int
	Points []Point
	Marks  bool // draw the points
	Bars   bool // draw their uncertainty bars
	Join   bool // join them by a line
}

// Point is one point; UX and UY are half-lengths of its bars. Note is the text
// of the point for a reader who asks, "row 3: load 1.00 kg, up 3.70 mm".
type Point struct {
	X, Y, UX, UY float64
	Note         string
}

// LineKind says what a line stands for.
type LineKind int

// The kinds of lines.
const (
	Fitted LineKind = iota
	Steepest
	Shallowest
)

// Line is a line or curve through the given points, in order. Series is the
// number of the series that it is fitted to, counted from 1; 0 where it is of
// no one series.
type Line struct {
	Name   string
	Kind   LineKind
	Series int
	Frame  int
	Points []Point
}

// Triangle is the slope triangle on a line, from (X0, Y0) to (X1, Y1). DX and
// DY are the lengths of its legs as they are read off, of so many Figures, UX
// and UY their units: those of differences along the axes.
type Triangle struct {
	X0, Y0, X1, Y1 float64
	DX, DY         float64
	UX, UY         string
	Figures        int
	Frame          int
}

// Bars is a bar chart of shares that sum to 1.
type Bars struct {
	ID       string
	Title    string
	Desc     string
	Items    []Bar
	Standing Standing
}

// Bar is one bar: Share is from 0 to 1, Text its printed value.
type Bar struct {
	Label string
	Share float64
	Text  string
}
