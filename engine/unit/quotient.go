package unit

import (
	"strconv"
	"strings"
)

// Quotient is the unit a per b, in the words of both: GPa per mm/kg is
// GPa kg/mm, a number per N m is N^-1 m^-1. It has the size of a over that of
// b exactly, so that a number that was worked out from numbers in a and b is
// one in the quotient.
func Quotient(a, b Unit) Unit {
	want := a.Dim().Div(b.Dim())
	for _, text := range []string{solidus(a, b), productOf(append(factorsOf(a, 1), factorsOf(b, -1)...))} {
		if u, err := Parse(text); err == nil && u.Dim() == want {
			return u
		}
	}
	return Of(want)
}

// solidus writes a per b as both are written, where one solidus is enough.
func solidus(a, b Unit) string {
	num, den, _ := strings.Cut(b.String(), "/")
	switch {
	case b.IsOne():
		return a.String()
	case den != "" && a.IsOne():
		return den + "/" + num
	case den != "":
		return a.String() + " " + den + "/" + num
	}
	return a.String() + "/" + num
}

// unitFactor is a unit with the power num/den.
type unitFactor struct {
	symbol   string
	num, den int
}

// factorsOf lists the factors of a unit, their powers times sign.
func factorsOf(un Unit, sign int) (out []unitFactor) {
	if un.IsOne() {
		return nil
	}
	above, below := un.String(), ""
	if i := strings.IndexByte(above, '/'); i >= 0 && !strings.Contains(above[:i], "(") {
		above, below = above[:i], above[i+1:]
	}
	add := func(part string, sign int) {
		for _, f := range strings.Fields(part) {
			symbol, power, raised := strings.Cut(f, "^")
			if symbol == "1" {
				continue
			}
			n, d := 1, 1
			if raised {
				n, d = ratioOf(strings.Trim(power, "()"))
			}
			out = append(out, unitFactor{symbol, sign * n, d})
		}
	}
	add(above, sign)
	add(below, -sign)
	return out
}

// ratioOf reads "2", "-1" or "1/3".
func ratioOf(text string) (num, den int) {
	a, b, divided := strings.Cut(text, "/")
	num, err := strconv.Atoi(a)
	if err != nil {
		return 1, 1
	}
	if den, err = strconv.Atoi(b); !divided || err != nil || den == 0 {
		den = 1
	}
	return num, den
}

// productOf writes factors, those of one symbol together: positive powers first,
// with a solidus where one power is negative.
func productOf(list []unitFactor) string {
	var sum []unitFactor
next:
	for _, f := range list {
		for i := range sum {
			if t := &sum[i]; t.symbol == f.symbol {
				t.num, t.den = t.num*f.den+f.num*t.den, t.den*f.den
				continue next
			}
		}
		sum = append(sum, f)
	}
	var above, below []unitFactor
	for _, f := range sum {
		switch {
		case f.num > 0:
			above = append(above, f)
		case f.num < 0:
			below = append(below, f)
		}
	}
	if len(above)+len(below) == 0 {
		return "1"
	}
	if len(below) == 1 && len(above) > 0 && below[0].den == 1 {
		below[0].num = -below[0].num
		return written(above) + "/" + written(below)
	}
	return written(append(above, below...))
}

func written(list []unitFactor) string {
	var parts []string
	for _, f := range list {
		power := strconv.Itoa(f.num)
		if f.num%f.den == 0 {
			power = strconv.Itoa(f.num / f.den)
		} else {
			power = "(" + power + "/" + strconv.Itoa(f.den) + ")"
		}
		if power == "1" {
			parts = append(parts, f.symbol)
		} else {
			parts = append(parts, f.symbol+"^"+power)
		}
	}
	return strings.Join(parts, " ")
}
