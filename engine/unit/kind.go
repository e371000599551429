package unit

import "strings"

// kind is a dimension with its name in words and a readable coherent unit.
type kind struct {
	dim  Dim
	name string // "" where no one name is common
	unit string // "" where base units read best
}

// kinds are the dimensions met in a mechanics laboratory and those of the SI
// units with special names (SI Brochure, tables 2 and 4 to 6).
var kinds = [...]kind{
	{dims(), "number", ""},
	{dims(1), "mass", ""},
	{dims(0, 1), "length", ""},
	{dims(0, 0, 1), "time", ""},
	{dims(0, 0, 0, 1), "electric current", ""},
	{dims(0, 0, 0, 0, 1), "temperature", ""},
	{dims(0, 0, 0, 0, 0, 1), "amount of substance", ""},
	{dims(0, 0, 0, 0, 0, 0, 1), "luminous intensity", ""},

	{dims(0, 2), "area", ""},
	{dims(0, 3), "volume", ""},
	{dims(0, 4), "second moment of area", ""},
	{dims(0, -1), "reciprocal length", ""},
	{dims(0, 0, -1), "frequency", ""},
	{dims(0, 1, -1), "speed", ""},
	{dims(0, 1, -2), "acceleration", ""},
	{dims(1, -3), "density", ""},
	{dims(1, -1), "mass per length", ""},
	{dims(-1, 1), "length per mass", ""},
	{dims(1, 2), "moment of inertia", ""},
	{dims(1, 0, -1), "mass flow rate", ""},

	{dims(1, 1, -2), "force", "N"},
	{dims(1, 1, -1), "momentum", ""},
	{dims(1, 0, -2), "force per length", "N/m"},
	{dims(-1, 0, 2), "length per force", "m/N"},
	{dims(1, -1, -2), "pressure or stress", "Pa"},
	{dims(-1, 1, 2), "compressibility", "1/Pa"},
	{dims(1, -1, -1), "dynamic viscosity", "Pa s"},
	{dims(1, 2, -2), "energy or torque", "J"},
	{dims(1, 2, -3), "power", "W"},
	{dims(1, 3, -2), "flexural rigidity", "N m^2"},

	{dims(0, 0, 0, 0, -1), "reciprocal temperature", ""},
	{dims(1, 2, -2, 0, -1), "heat capacity", "J/K"},
	{dims(0, 2, -2, 0, -1), "specific heat capacity", "J kg^-1 K^-1"},
	{dims(1, 1, -3, 0, -1), "thermal conductivity", "W m^-1 K^-1"},
	{dims(1, -1, -2, 0, -1), "", "Pa/K"},

	{dims(0, 0, 1, 1), "electric charge", "C"},
	{dims(1, 2, -3, -1), "voltage", "V"},
	{dims(-1, -2, 4, 2), "capacitance", "F"},
	{dims(1, 2, -3, -2), "resistance", "Ω"},
	{dims(-1, -2, 3, 2), "conductance", "S"},
	{dims(1, 3, -3, -2), "resistivity", "Ω m"},
	{dims(1, 2, -2, -1), "magnetic flux", "Wb"},
	{dims(1, 0, -2, -1), "magnetic flux density", "T"},
	{dims(1, 2, -2, -2), "inductance", "H"},
	{dims(0, 0, -1, 0, 0, 1), "catalytic activity", "kat"},
}

// dims makes a dimension from whole exponents in the order kg m s A K mol cd.
func dims(exponents ...int32) Dim {
	var d Dim
	for i, e := range exponents {
		d.e[i] = e * grain
	}
	return d
}

func kindOf(d Dim) kind {
	for _, k := range kinds {
		if k.dim == d {
			return k
		}
	}
	return kind{}
}

// Name returns the kind of quantity in words, "length" or "pressure or
// stress", for use in messages; "" where no one name is common.
func (d Dim) Name() string { return kindOf(d).name }

// Of returns a readable coherent SI unit of the dimension: Pa, N/m, J, m/kg;
// where none has a name, a product of powers of base units. For a number it is
// the unit one.
func Of(d Dim) Unit {
	text := kindOf(d).unit
	if text == "" {
		text = baseText(d)
	}
	if text == "1" {
		return Unit{}
	}
	return Unit{text: text, coherent: text, dim: d, factor: 1}
}

// baseText is d in base units: with a solidus where exactly one power is
// negative and another positive ("m/kg"), else with powers only.
func baseText(d Dim) string {
	below, above := -1, 0
	for i, e := range d.e {
		switch {
		case e > 0:
			above++
		case e < 0 && below >= 0:
			return d.String()
		case e < 0:
			below = i
		}
	}
	if below < 0 || above == 0 {
		return d.String()
	}
	e := d.e[below]
	d.e[below] = 0
	var b strings.Builder
	b.WriteString(d.String())
	b.WriteByte('/')
	b.WriteString(baseSymbols[below])
	b.WriteString(powerText(-e))
	return b.String()
}
