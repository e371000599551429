package blocks

import (
	"math"
	"strconv"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// mean lists the readings of a mean; nil where the step is none.
func (w *working) mean(v eval.Scalar) []view.Math {
	call, ok := bare(w.st.X).(*formula.Call)
	if !ok || call.Name != "mean" {
		return nil
	}
	cols, wait := columnsOf(w.e, call.Args)
	if wait != nil || len(cols) == 0 {
		return nil
	}
	un := eval.UnitOf(cols[0])
	list, after := asRead(cols, v)
	if list == nil {
		list, after = corrected(cols, un), nil
	}
	if len(list) == 0 {
		return nil
	}
	n := view.Num{Digits: strconv.Itoa(len(list))}
	sum := 0.0 // in the unit, since degrees Celsius do not add in kelvins
	var terms []view.Math
	for _, x := range list {
		sum += un.FromSI(x.value)
		if len(terms) == 0 {
			terms = append(terms, block.QuantityMath(x.shown, x.value, ""))
		} else {
			terms = append(terms, signed(x.shown, x.value))
		}
	}
	total := shortest(un.SI(sum), un, sumFigures)
	stage := func(top view.Math) view.Math {
		return view.Seq{Items: append([]view.Math{view.Frac{Num: top, Den: n}}, after...)}
	}
	inBrackets := view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, listed(terms), view.Op{Symbol: ")", Fence: true}}}
	shown := eval.UnitOf(v)
	if !unit.Same(shown, un) {
		shown = shown.Coherent()
	}
	out, _ := w.unrounded([]view.Math{
		stage(view.Measure{Number: inBrackets, Unit: axisUnit(un)}),
		stage(block.QuantityMath(total, un.SI(sum), "")),
	}, v, shown)
	return out
}

// sumFigures is how many figures a sum of readings has at most.
const sumFigures = 10

// shortest displays a value to so many figures at most, without the zeros that
// say nothing and the traces of binary arithmetic.
func shortest(v float64, un unit.Unit, figures int) quantity.Display {
	r, err := strconv.ParseFloat(strconv.FormatFloat(un.FromSI(v), 'e', figures-1, 64), 64)
	if err != nil {
		r = un.FromSI(v)
	}
	if d := quantity.Format(un.SI(r), 0, 0, un, quantity.Auto, quantity.Options{}); len(d.Number) <= figures+2 {
		return d
	}
	return quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: figures})
}

// listedReading is one reading: as it is shown, without its unit, and its value
// in SI.
type listedReading struct {
	shown quantity.Display
	value float64
}

// listOne lists one reading: as it was typed, where that is the number and no
// more; else with a guard figure.
func listOne(typed string, q quantity.Q, un unit.Unit) listedReading {
	v := q.Value()
	d := shortest(v, un, sumFigures)
	if typedIs(typed, v, un) {
		d = quantity.Typed(typed, un)
	} else if len(d.Number) > exactGuard+2 {
		d = quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: figures(v, q.U())})
	}
	d.Unit = ""
	return listedReading{d, v}
}

// asRead lists the readings as they were read, where all are of one instrument
// of which only the zero corrects them: the mean is theirs less the zero.
func asRead(cols []*eval.Column, v eval.Scalar) (list []listedReading, after []view.Math) {
	in := cols[0].Instrument
	un := eval.UnitOf(cols[0])
	if in == nil || in.Error != nil && in.Error.Value() != 0 || in.Scale != nil && in.Scale.Value() != 1 {
		return nil, nil
	}
	sum := 0.0
	for _, c := range cols {
		if c.Instrument != in || c.Raw == nil || !unit.Same(eval.UnitOf(c), un) {
			return nil, nil
		}
		for i, cell := range c.Cells {
			if cell.Hole {
				continue
			}
			raw := c.Raw.Cells[i].Q
			sum += raw.Value()
			list = append(list, listOne(cell.Typed, raw, un))
		}
	}
	if len(list) == 0 {
		return nil, nil
	}
	mean := sum / float64(len(list))
	if in.Zero != nil && in.Zero.Value() != 0 {
		z := in.Zero.Value()
		mean -= z
		after = []view.Math{view.Op{Symbol: "−"}, signed(guarded(eval.Scalar{Q: *in.Zero}, un), z)}
	}
	if math.Abs(mean-v.Q.Value()) > 1e-9*math.Abs(sum) {
		return nil, nil // divisions of a screw, or something else that the digits do not say
	}
	return list, after
}

// corrected lists readings with all corrections made.
func corrected(cols []*eval.Column, un unit.Unit) (list []listedReading) {
	for _, c := range cols {
		for _, cell := range c.Cells {
			if cell.Hole {
				continue
			}
			typed := ""
			if unit.Same(eval.UnitOf(c), un) {
				typed = cell.Typed
			}
			list = append(list, listOne(typed, cell.Q, un))
		}
	}
	return list
}

// Readings are listed in lines of so many, and no more than mostListed of them.
const (
	perLine    = 5
	mostListed = 40
)

// listed sets a sum over several lines.
func listed(terms []view.Math) view.Math {
	if len(terms) > mostListed {
		terms = append(append([]view.Math(nil), terms[:perLine*2-1]...), view.Op{Symbol: "⋯"}, terms[len(terms)-1])
	}
	var rows [][]view.Math
	for i := 0; i < len(terms); i += perLine {
		var row []view.Math
		for j, t := range terms[i:min(i+perLine, len(terms))] {
			if j > 0 {
				row = append(row, view.Op{Symbol: "+"})
			}
			row = append(row, t)
		}
		if i+perLine < len(terms) {
			row = append(row, view.Op{Symbol: "+", Form: "infix"})
		}
		rows = append(rows, []view.Math{view.Seq{Items: row}})
	}
	if len(rows) == 1 {
		return rows[0][0]
	}
	return view.Grid{Rows: rows, Align: []string{"left"}}
}

// firstRow works out the first cell of a column; the others go alike.
func (w *working) firstRow(v *eval.Column) []view.Math {
	at := -1
	for i, c := range v.Cells {
		if !c.Hole {
			at = i
			break
		}
	}
	if at < 0 {
		return nil
	}
	work := w.cellWork(v, at)
	if work == nil {
		return nil
	}
	cell := eval.Scalar{Q: v.Cells[at].Q, Unit: v.Unit}
	un := eval.UnitOf(v)
	words := "the first: "
	if at > 0 {
		words = "row " + strconv.Itoa(at+1) + ": "
	}
	return []view.Math{view.Seq{Items: []view.Math{view.Words{Text: words}, work, view.Op{Symbol: "="},
		block.QuantityMath(guarded(cell, un), cell.Q.Value(), "")}}}
}

// rowwise are the functions whose cells are worked out from several others.
var rowwise = map[string]bool{"pointmean": true, "pairs": true, "steps": true}

// rowwiseWork sets one cell of such a function with its numbers.
func (w *working) rowwiseWork(call *formula.Call, at int) view.Math {
	switch call.Name {
	case "pointmean":
		return w.pointmean(call, at)
	case "pairs":
		return w.pair(call, at)
	}
	if c := w.column(call.Args[0]); c != nil && at+1 < len(c.Cells) {
		return difference(c, at, at+1)
	}
	return nil
}

// cellWork sets the expression with the numbers of one row; nil where the
// expression does not go row by row.
func (w *working) cellWork(v *eval.Column, at int) view.Math {
	x := bare(w.st.X)
	if call, ok := x.(*formula.Call); ok && call.Name == "columns" && len(call.Args) > 0 {
		x = bare(call.Args[0]) // the first stands for all
	}
	if call, ok := x.(*formula.Call); ok && rowwise[call.Name] {
		return w.rowwiseWork(call, at)
	}
	fits := true
	m := block.Substituted(x, func(x formula.Expr) view.Math {
		switch x.(type) {
		case *formula.Name, *formula.Call, *formula.Literal:
		default:
			return nil
		}
		if c, ok := x.(*formula.Call); ok {
			if carriedOut[c.Name] {
				return nil
			}
			if rowwise[c.Name] {
				if m := w.rowwiseWork(c, at); m != nil {
					return asOneTerm(m)
				}
			}
		}
		if l, ok := x.(*formula.Literal); ok && l.Unit.Text == "" {
			return nil
		}
		value := w.e.Expr(x)
		if l, ok := value.(eval.List); ok && len(l.Members) > 0 {
			value = l.Members[0]
		}
		switch y := value.(type) {
		case eval.Scalar:
			return signed(guarded(y, eval.UnitOf(y)), y.Q.Value())
		case *eval.Column:
			if len(y.Cells) == len(v.Cells) && !y.Cells[at].Hole {
				return cellNumber(y, at)
			}
		}
		fits = false
		return nil
	})
	if !fits {
		return nil
	}
	return m
}

// asOneTerm sets a sum in brackets: it stands behind an operator.
func asOneTerm(m view.Math) view.Math {
	if _, sum := m.(view.Seq); sum {
		return inBrackets(m)
	}
	return m
}

func (w *working) column(x formula.Expr) *eval.Column {
	c, _ := w.e.Expr(x).(*eval.Column)
	return c
}

// pointmean sets the mean of one row, of the cells that were read.
func (w *working) pointmean(call *formula.Call, at int) view.Math {
	cols, wait := columnsOf(w.e, call.Args)
	if wait != nil {
		return nil
	}
	var items []view.Math
	n := 0
	for _, c := range cols {
		if at >= len(c.Cells) || c.Cells[at].Hole {
			continue
		}
		if n > 0 {
			items = append(items, view.Op{Symbol: "+"})
		}
		items = append(items, cellNumber(c, at))
		n++
	}
	if n == 0 {
		return nil
	}
	return view.Frac{Num: view.Seq{Items: items}, Den: view.Num{Digits: strconv.Itoa(n)}}
}

// pair sets the first difference over n rows; with x, the slope of that pair.
func (w *working) pair(call *formula.Call, at int) view.Math {
	y := w.column(call.Args[0])
	n, ok := w.e.Expr(call.Args[1]).(eval.Scalar)
	if y == nil || !ok {
		return nil
	}
	to := at + int(n.Q.Value())
	if to >= len(y.Cells) || y.Cells[at].Hole || y.Cells[to].Hole {
		return nil
	}
	if len(call.Args) < 3 {
		return difference(y, at, to)
	}
	x := w.column(call.Args[2])
	if x == nil || to >= len(x.Cells) || x.Cells[at].Hole || x.Cells[to].Hole {
		return nil
	}
	return view.Frac{Num: difference(y, at, to), Den: difference(x, at, to)}
}

func difference(c *eval.Column, from, to int) view.Math {
	if c.Cells[from].Hole || c.Cells[to].Hole {
		return nil
	}
	return view.Seq{Items: []view.Math{cellNumber(c, to), view.Op{Symbol: "−"}, cellNumber(c, from)}}
}

func cellNumber(c *eval.Column, i int) view.Math {
	v := c.Cells[i].Q.Value()
	return signed(readingShown(c, i), v)
}

// readingShown displays one cell: as it was typed where that is the value, else
// with as many decimals as were typed where those are enough.
func readingShown(c *eval.Column, i int) quantity.Display {
	un, q, typed := eval.UnitOf(c), c.Cells[i].Q, c.Cells[i].Typed
	v := q.Value()
	if typedIs(typed, v, un) {
		return quantity.Typed(typed, un)
	}
	d := guarded(eval.Scalar{Q: q, Unit: c.Unit}, un)
	if typed == "" || !q.IsUncertain() {
		return d
	}
	short := shortest(v, un, sumFigures)
	n := max(block.Places(short.Number), block.Places(typed))
	if short.Exponent != 0 || d.Exponent != 0 || n > block.Places(d.Number) {
		return d
	}
	return quantity.Format(v, 0, 0, un, quantity.Places, quantity.Options{N: n})
}
