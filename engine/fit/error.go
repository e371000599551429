package fit

import (
	"fmt"
	"math"
	"slices"
)

// Kind tells the errors of this package apart.
type Kind string

// The kinds of errors.
const (
	Lengths       Kind = "lengths"        // slices of different lengths
	BadOption     Kind = "bad-option"     // model, degree, groups or group numbers that make no sense
	NotFinite     Kind = "not-finite"     // a value is NaN or infinite, an uncertainty is negative
	TooFew        Kind = "too-few"        // fewer points than coefficients
	NoSpread      Kind = "no-spread"      // too few distinct x
	NoUncertainty Kind = "no-uncertainty" // stated weights, but a point without uncertainty
	BothStated    Kind = "both-stated"    // a polynomial with stated uncertainty in x
	NotConverged  Kind = "not-converged"  // the iteration did not settle
	OutOfRange    Kind = "out-of-range"   // coefficients beyond the floating-point numbers
)

// Error says why there is no fit.
type Error struct {
	Kind  Kind
	Index int // of the entry concerned, −1 if none
	Msg   string
}

// Error returns the message.
func (e *Error) Error() string { return e.Msg }

func failure(kind Kind, index int, format string, args ...any) *Error {
	return &Error{Kind: kind, Index: index, Msg: fmt.Sprintf(format, args...)}
}

// parameters returns the number of coefficients.
func (o Options) parameters() int {
	switch o.Model {
	case Straight:
		return 1 + o.Groups
	case Proportional:
		return 1
	}
	return o.Degree + 1
}

// check completes the options and examines the data, of which it returns a copy.
func check(d Data, o Options) (Data, Options, *Error) {
	n := len(d.X)
	if o.Groups == 0 {
		o.Groups = 1
	}
	for _, s := range []struct {
		name string
		len  int
		nil  bool
	}{
		{"y", len(d.Y), false}, {"the groups", len(d.Group), d.Group == nil}, {"the rows", len(d.Row), d.Row == nil},
		{"the uncertainties of x", len(d.UX), d.UX == nil}, {"the uncertainties of y", len(d.UY), d.UY == nil},
		{"the order", len(d.Order), d.Order == nil},
	} {
		if !s.nil && s.len != n {
			return d, o, failure(Lengths, -1, "x has %d values, but %s %d", n, s.name, s.len)
		}
	}
	if err := checkOptions(o); err != nil {
		return d, o, err
	}
	d = Data{slices.Clone(d.X), slices.Clone(d.Y), slices.Clone(d.Group), slices.Clone(d.Row), slices.Clone(d.UX), slices.Clone(d.UY), slices.Clone(d.Order)}
	if d.Group == nil {
		d.Group = make([]int, n)
	}
	if err := checkPoints(d, o); err != nil {
		return d, o, err
	}
	return d, o, checkNumbers(d, o)
}

func checkOptions(o Options) *Error {
	switch {
	case o.Model != Straight && o.Model != Proportional && o.Model != Polynomial:
		return failure(BadOption, -1, "there is no model number %d", int(o.Model))
	case o.Weights != Equal && o.Weights != Stated:
		return failure(BadOption, -1, "there are no weights number %d", int(o.Weights))
	case o.Groups < 1:
		return failure(BadOption, -1, "%d columns of y", o.Groups)
	case o.Model == Polynomial && o.Groups > 1:
		return failure(BadOption, -1, "a polynomial takes one column of y, not %d", o.Groups)
	case o.Model == Polynomial && (o.Degree < MinDegree || o.Degree > MaxDegree):
		return failure(BadOption, -1, "the degree of a polynomial is %d to %d, not %d", MinDegree, MaxDegree, o.Degree)
	}
	return nil
}

func checkPoints(d Data, o Options) *Error {
	for i := range d.X {
		if g := d.Group[i]; g < 0 || g >= o.Groups {
			return failure(BadOption, i, "point %d belongs to column %d of %d", i+1, g+1, o.Groups)
		}
		switch {
		case !finite(d.X[i]):
			return failure(NotFinite, i, "x of point %d is not a finite number", i+1)
		case !finite(d.Y[i]):
			return failure(NotFinite, i, "y of point %d is not a finite number", i+1)
		case d.UX != nil && (!finite(d.UX[i]) || d.UX[i] < 0), d.UY != nil && (!finite(d.UY[i]) || d.UY[i] < 0):
			return failure(NotFinite, i, "the uncertainty of point %d is not a number from 0 up", i+1)
		case d.Order != nil && !finite(d.Order[i]):
			return failure(NotFinite, i, "the order of point %d is not a finite number", i+1)
		}
		if o.Weights != Stated {
			continue
		}
		if at(d.UX, i) == 0 && at(d.UY, i) == 0 {
			return failure(NoUncertainty, i, "stated weights need an uncertainty at every point; point %d has none", i+1)
		}
		if at(d.UX, i) > 0 && o.Model == Polynomial {
			return failure(BothStated, i, "a polynomial with stated weights takes uncertainty in y alone; point %d has one in x: use equal weights or a straight line", i+1)
		}
	}
	return nil
}

// checkNumbers counts points and distinct x.
func checkNumbers(d Data, o Options) *Error {
	n, p := len(d.X), o.parameters()
	if n < p {
		return failure(TooFew, -1, "%d points are too few for %d coefficients", n, p)
	}
	seen := make([]bool, o.Groups)
	for _, g := range d.Group {
		seen[g] = true
	}
	if o.Model == Straight {
		for g, ok := range seen {
			if !ok {
				return failure(TooFew, -1, "column %d of y has no reading", g+1)
			}
		}
	}
	switch o.Model {
	case Straight:
		first := make([]float64, o.Groups)
		for i, g := range d.Group {
			if seen[g] {
				seen[g], first[g] = false, d.X[i]
			} else if d.X[i] != first[g] {
				return nil
			}
		}
		return failure(NoSpread, -1, "all x are equal: there is no slope")
	case Proportional:
		for _, x := range d.X {
			if x != 0 {
				return nil
			}
		}
		return failure(NoSpread, -1, "all x are 0: there is no slope")
	}
	distinct := map[float64]bool{}
	for _, x := range d.X {
		distinct[x] = true
	}
	if len(distinct) < p {
		return failure(NoSpread, -1, "%d different x are too few for a polynomial of degree %d", len(distinct), o.Degree)
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// at returns s[i], 0 for a nil slice.
func at(s []float64, i int) float64 {
	if s == nil {
		return 0
	}
	return s[i]
}
