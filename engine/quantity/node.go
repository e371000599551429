package quantity

// Op says how a node was computed from its arguments.
type Op uint8

// The operations. Affine stands for whatever is exactly affine in its sources:
// V + Σ C·source; everything linear is folded into it.
const (
	Affine Op = iota
	Add       // Args[0] + Args[1]
	Sub
	Mul
	Div
	Pow
	Abs
	Sqrt
	Exp
	Ln
	Log10
	Sin
	Cos
	Tan
	Asin
	Acos
	Atan
	Round
	Floor
	Max // over Args
	Min
	Median
	Less // Args[0] < Args[1], 1 or 0
	Equal
	And
	Or
	Not
	IfOp // Args[0] ≠ 0 ? Args[1] : Args[2]
	Line // Σ K·Args + Σ Extra, the Args without their readings' own sources
	Pick // output Index of Multi, whose Args are taken likewise, + Σ Extra
)

// Node is one value on the way to a result: what it is at the estimates, its
// sensitivities there, and how it was computed, so that the same formulas can
// be evaluated again at other values of the sources.
type Node struct {
	Op    Op
	V     float64
	Terms []Term // sorted by source
	Args  []*Node
	K     []float64 // of Line
	Extra []Term    // of Line and Pick: sources that came in here
	Multi *Multi    // of Pick
	Index int       // of Pick
}

// Multi is a function with several outputs, such as a fit that has to be made
// anew because its x values are uncertain. F reads len(Args) inputs and writes
// Outputs outputs; it is called by several goroutines at once.
type Multi struct {
	Args    []*Node
	Outputs int
	F       func(in, out []float64)
}

// IsExact reports whether no source acts on the node.
func (n *Node) IsExact() bool { return n.Op == Affine && len(n.Terms) == 0 }
