package unit

// IcePoint is the zero of the Celsius scale in kelvin, exact (SI Brochure,
// 2.3.1).
const IcePoint = 273.15

// Unit is a unit of measurement. It never changes; the zero value is the unit
// one. Two Units are equal under == where they are written alike; [Same]
// compares what they mean.
type Unit struct {
	text     string // canonical; "" for one
	coherent string // canonical text of the coherent unit; "" for one
	dim      Dim
	scale    scale
	factor   float64 // scale as a float64; 0 in the zero Unit
	affine   bool
}

// Dim returns the dimension.
func (u Unit) Dim() Dim { return u.dim }

// IsOne reports whether u is the unit one, written as nothing.
func (u Unit) IsOne() bool { return u.text == "" }

// String returns the unit as it is displayed in plain text: "kg m^2 s^-2",
// "mm/kg", "GPa", "°C"; the unit one is "1". Parse reads it back.
func (u Unit) String() string {
	if u.text == "" {
		return "1"
	}
	return u.text
}

// Coherent returns the same unit without prefixes and non-SI factors, under a
// readable name: Pa for GPa, m/kg for mm/kg, kg for g, N for kgf, K for °C, rad
// for °, 1 for %.
func (u Unit) Coherent() Unit {
	if u.coherent == "" {
		return Unit{}
	}
	return Unit{text: u.coherent, coherent: u.coherent, dim: u.dim, factor: 1}
}

// Factor returns the size of u in its coherent unit, as the nearest float64.
func (u Unit) Factor() float64 {
	if u.factor == 0 {
		return 1
	}
	return u.factor
}

// PowerOfTen returns n where u is exactly 10^n of its coherent unit, without
// offset, and otherwise false.
func (u Unit) PowerOfTen() (n int, ok bool) {
	if u.affine || !u.scale.powerOfTen() {
		return 0, false
	}
	return u.scale.ten, true
}

// IsTemperature reports whether u is a temperature scale whose zero is not
// that of the kelvin: the degree Celsius standing alone.
func (u Unit) IsTemperature() bool { return u.affine }

// Offset returns what is added to a number in u, times its factor, to give the
// coherent unit: 273.15 for °C, else 0.
func (u Unit) Offset() float64 {
	if u.affine {
		return IcePoint
	}
	return 0
}

// Difference returns the unit of a difference of two quantities in u: the same
// unit without its offset.
func (u Unit) Difference() Unit {
	u.affine = false
	return u
}

// Same reports whether two units have the same dimension, the same size and
// the same zero, however they are written. Sizes are compared exactly.
func Same(a, b Unit) bool {
	return a.dim == b.dim && a.scale == b.scale && a.affine == b.affine
}
