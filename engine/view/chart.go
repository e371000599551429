package view

// Chart is a control chart: values in the order of time, with the limits of
// each stretch of them and, below, their moving ranges. All numbers are in the
// unit of Y; NaN stands for one that there is not.
type Chart struct {
	ID       string
	Title    string
	Desc     string // what the chart shows, in words and numbers
	Y        Axis
	Moving   string // what the ranges are called; "" leaves them out
	Before   int    // how many values came before the first that is drawn
	Points   []ChartPoint
	Segments []ChartSegment // they follow each other and hold all points
	Standing Standing
}

// ChartPoint is one value. Words say what is remarkable about it, in a few
// words; a point can be Marked without any, where those of the point before
// hold on.
type ChartPoint struct {
	Value, U   float64 // U is half the length of its bar
	Range      float64 // from the value before
	Date       string  // of ISO 8601
	Note       string  // for a reader who asks
	Marked     bool
	Words      string
	RangeWords string
}

// ChartSegment is a stretch of a chart with limits of its own: the points From,
// counted from 0, up to but without To. The texts are its numbers as printed.
type ChartSegment struct {
	Name     string
	From, To int

	Mean, Lower, Upper    float64
	MeanRange, RangeUpper float64
	Reference, ReferenceU float64 // a reference value and its expanded uncertainty

	MeanText, LowerText, UpperText, ReferenceText, MeanRangeText, RangeUpperText string
}

// Heading is the heading of a part of a page; the title of the page has level
// 1.
type Heading struct {
	ID    string
	Level int
	Text  Text
}

// Link is running text that leads to another page: To is its address relative
// to this page, in which # begins the place on it.
type Link struct{ Text, To string }

func (*Chart) node()   {}
func (*Heading) node() {}
func (Link) run()      {}
