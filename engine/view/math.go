package view

// Math is a piece of mathematics as a tree. The set of its nodes is closed.
type Math interface{ math() }

// The nodes of mathematics. What they mean is that of the MathML Core element
// in the comment.
type (
	// Ident is a name, set italic if one letter (mi).
	Ident struct{ Name string }
	// Upright is a name set upright: a function, a unit (mi mathvariant=normal).
	Upright struct{ Name string }
	// Num is a number, digits as in quantity.Display (mn).
	Num struct{ Digits string }
	// Op is an operator, relation or bracket (mo).
	Op struct {
		Symbol string
		Fence  bool   // a bracket, arrow or accent that grows with its content
		Form   string // "prefix", "infix", "postfix"; "" by its place
	}
	// Sized is a bracket of a set height in ems (mo minsize maxsize).
	Sized struct {
		Symbol string
		Em     float64
		Form   string
	}
	// Words is text within mathematics (mtext).
	Words struct{ Text string }
	// Space is a gap of the given width in ems (mspace).
	Space struct{ Em float64 }
	// Seq is a row (mrow).
	Seq struct{ Items []Math }
	// Frac is a fraction (mfrac).
	Frac struct {
		Num, Den Math
		NoBar    bool
	}
	// Root is a root; Index is nil for the square root (msqrt, mroot).
	Root struct{ Body, Index Math }
	// Script is a base with a subscript and a superscript, either nil (msub,
	// msup, msubsup).
	Script struct{ Base, Sub, Sup Math }
	// Limits is a base with something below and above, either nil (munder,
	// mover, munderover). Accent says that Over, or Under where it stands
	// alone, is an accent.
	Limits struct {
		Base, Under, Over Math
		Accent            bool
	}
	// Grid is a table of mathematics (mtable); Align is one of "left",
	// "center", "right" for each column.
	Grid struct {
		Rows  [][]Math
		Align []string
	}
	// Styled sets its body in a style: "displaystyle", "textstyle", "bold",
	// "italic", "bold-italic", "normal", "double-struck", "script", "fraktur", "sans-serif",
	// "monospace".
	Styled struct {
		Style string
		Body  Math
	}
	// Linked is a piece that leads to the node of that ID.
	Linked struct {
		ID   string
		Body Math
	}
	// Measure is a number with its unit, such as "kg m^2 s^-2".
	Measure struct {
		Number Math
		Unit   string
	}
	// Valued is a number or quantity that is computed: Value in SI.
	Valued struct {
		Value float64
		Link  string
		Body  Math
	}
)

func (Ident) math()   {}
func (Upright) math() {}
func (Num) math()     {}
func (Op) math()      {}
func (Sized) math()   {}
func (Words) math()   {}
func (Space) math()   {}
func (Seq) math()     {}
func (Frac) math()    {}
func (Root) math()    {}
func (Script) math()  {}
func (Limits) math()  {}
func (Grid) math()    {}
func (Styled) math()  {}
func (Linked) math()  {}
func (Valued) math()  {}
func (Measure) math() {}
