package unit

import "strings"

// row is one unit of the table. Adding a unit is adding a row.
type row struct {
	symbol   string
	also     string // other spellings that are read as this unit, separated by spaces
	name     string
	quantity string // where it says more than the dimension's name
	factor   string // in coherent SI units: a decimal, "a/b" of decimals, or "pi/a"
	coherent string // the unit without its prefix and factor; see Unit.Coherent
	dim      Dim
	prefixes bool
	affine   bool // a temperature scale with its zero at the ice point
	source   string
}

const (
	table2   = "SI Brochure, table 2"
	table4   = "SI Brochure, table 4"
	table8   = "SI Brochure, table 8"
	standard = "9.80665 m/s^2, 3rd CGPM 1901"
	pound    = "0.45359237 kg, international yard and pound agreement 1959"
	inch     = "25.4 mm, international yard and pound agreement 1959"
)

// rows holds every unit, in the order in which a list shows them.
var rows = [...]row{
	// SI base units.
	{"m", "", "metre", "", "1", "m", dims(0, 1), true, false, table2},
	{"g", "", "gram", "", "0.001", "kg", dims(1), true, false, table2 + " (kilogram)"},
	{"s", "", "second", "", "1", "s", dims(0, 0, 1), true, false, table2},
	{"A", "", "ampere", "", "1", "A", dims(0, 0, 0, 1), true, false, table2},
	{"K", "", "kelvin", "", "1", "K", dims(0, 0, 0, 0, 1), true, false, table2},
	{"mol", "", "mole", "", "1", "mol", dims(0, 0, 0, 0, 0, 1), true, false, table2},
	{"cd", "", "candela", "", "1", "cd", dims(0, 0, 0, 0, 0, 0, 1), true, false, table2},

	// SI units with special names.
	{"rad", "", "radian", "plane angle", "1", "rad", dims(), true, false, table4},
	{"sr", "", "steradian", "solid angle", "1", "sr", dims(), true, false, table4},
	{"Hz", "", "hertz", "", "1", "Hz", dims(0, 0, -1), true, false, table4},
	{"N", "", "newton", "", "1", "N", dims(1, 1, -2), true, false, table4},
	{"Pa", "", "pascal", "", "1", "Pa", dims(1, -1, -2), true, false, table4},
	{"J", "", "joule", "energy", "1", "J", dims(1, 2, -2), true, false, table4},
	{"W", "", "watt", "", "1", "W", dims(1, 2, -3), true, false, table4},
	{"C", "", "coulomb", "", "1", "C", dims(0, 0, 1, 1), true, false, table4},
	{"V", "", "volt", "", "1", "V", dims(1, 2, -3, -1), true, false, table4},
	{"F", "", "farad", "", "1", "F", dims(-1, -2, 4, 2), true, false, table4},
	{"Ω", "ohm", "ohm", "", "1", "Ω", dims(1, 2, -3, -2), true, false, table4},
	{"S", "", "siemens", "", "1", "S", dims(-1, -2, 3, 2), true, false, table4},
	{"Wb", "", "weber", "", "1", "Wb", dims(1, 2, -2, -1), true, false, table4},
	{"T", "", "tesla", "", "1", "T", dims(1, 0, -2, -1), true, false, table4},
	{"H", "", "henry", "", "1", "H", dims(1, 2, -2, -2), true, false, table4},
	{"°C", "degC", "degree Celsius", "", "1", "K", dims(0, 0, 0, 0, 1), false, true, table4 + " and 2.3.1: t/°C = T/K − 273.15"},
	{"lm", "", "lumen", "luminous flux", "1", "lm", dims(0, 0, 0, 0, 0, 0, 1), true, false, table4},
	{"lx", "", "lux", "illuminance", "1", "lx", dims(0, -2, 0, 0, 0, 0, 1), true, false, table4},
	{"Bq", "", "becquerel", "activity of a radionuclide", "1", "Bq", dims(0, 0, -1), true, false, table4},
	{"Gy", "", "gray", "absorbed dose", "1", "Gy", dims(0, 2, -2), true, false, table4},
	{"Sv", "", "sievert", "dose equivalent", "1", "Sv", dims(0, 2, -2), true, false, table4},
	{"kat", "", "katal", "", "1", "kat", dims(0, 0, -1, 0, 0, 1), true, false, table4},

	// Units accepted for use with the SI. The logarithmic ones (neper, bel) are
	// left out: they have no factor.
	{"min", "", "minute", "", "60", "s", dims(0, 0, 1), false, false, table8},
	{"h", "", "hour", "", "3600", "s", dims(0, 0, 1), false, false, table8},
	{"d", "", "day", "", "86400", "s", dims(0, 0, 1), false, false, table8},
	{"°", "deg", "degree", "plane angle", "pi/180", "rad", dims(), false, false, table8},
	{"′", "", "minute of arc", "plane angle", "pi/10800", "rad", dims(), false, false, table8},
	{"″", "", "second of arc", "plane angle", "pi/648000", "rad", dims(), false, false, table8},
	{"au", "", "astronomical unit", "", "149597870700", "m", dims(0, 1), false, false, table8},
	{"ha", "", "hectare", "", "10000", "m^2", dims(0, 2), false, false, table8},
	{"L", "", "litre", "", "0.001", "m^3", dims(0, 3), true, false, table8},
	{"l", "", "litre", "", "0.001", "m^3", dims(0, 3), true, false, table8},
	{"t", "", "tonne", "", "1000", "kg", dims(1), true, false, table8},
	{"Da", "", "dalton", "", "1.66053906892e-27", "kg", dims(1), true, false, table8 + "; CODATA 2022, measured: its uncertainty is left out"},
	{"eV", "", "electronvolt", "energy", "1.602176634e-19", "J", dims(1, 2, -2), true, false, table8 + "; exact since 2019"},
	{"%", "", "percent", "number", "0.01", "", dims(), false, false, "SI Brochure, 5.4.7"},

	// Units of the trade.
	{"kgf", "", "kilogram-force", "", "9.80665", "N", dims(1, 1, -2), false, false, standard},
	{"gf", "", "gram-force", "", "0.00980665", "N", dims(1, 1, -2), false, false, standard},
	{"lb", "", "pound", "", "0.45359237", "kg", dims(1), false, false, pound},
	{"lbf", "", "pound-force", "", "4.4482216152605", "N", dims(1, 1, -2), false, false, pound + "; " + standard},
	{"inch", "", "inch", "", "0.0254", "m", dims(0, 1), false, false, inch},
	{"ft", "", "foot", "", "0.3048", "m", dims(0, 1), false, false, "12 inch; " + inch},
	{"psi", "", "pound-force per square inch", "", "4.4482216152605/0.00064516", "Pa", dims(1, -1, -2), false, false, "lbf/inch^2"},
	{"bar", "", "bar", "", "100000", "Pa", dims(1, -1, -2), true, false, "ISO 80000-4: 100 kPa"},
	{"atm", "", "standard atmosphere", "", "101325", "Pa", dims(1, -1, -2), false, false, "10th CGPM 1954"},
}

// Prefix is an SI prefix.
type Prefix struct {
	Symbol string
	Name   string
	Power  int // of ten
}

// prefixes are those of the SI Brochure, table 7.
var prefixes = [...]Prefix{
	{"Q", "quetta", 30}, {"R", "ronna", 27}, {"Y", "yotta", 24}, {"Z", "zetta", 21},
	{"E", "exa", 18}, {"P", "peta", 15}, {"T", "tera", 12}, {"G", "giga", 9},
	{"M", "mega", 6}, {"k", "kilo", 3}, {"h", "hecto", 2}, {"da", "deca", 1},
	{"d", "deci", -1}, {"c", "centi", -2}, {"m", "milli", -3}, {"μ", "micro", -6},
	{"n", "nano", -9}, {"p", "pico", -12}, {"f", "femto", -15}, {"a", "atto", -18},
	{"z", "zepto", -21}, {"y", "yocto", -24}, {"r", "ronto", -27}, {"q", "quecto", -30},
}

// plain is a unit without prefix.
type plain struct {
	unit     Unit
	prefixes bool
}

// symbols holds every unit of the table under each of its spellings. It is
// built once and only read.
var symbols = buildSymbols()

func buildSymbols() map[string]plain {
	table := make(map[string]plain, 2*len(rows))
	for _, r := range rows {
		s := parseScale(r.factor)
		u := Unit{text: r.symbol, coherent: r.coherent, dim: r.dim, scale: s, factor: s.float(), affine: r.affine}
		table[r.symbol] = plain{u, r.prefixes}
		if r.also != "" {
			table[r.also] = plain{u, r.prefixes}
		}
	}
	return table
}

// lookUp finds a unit by its symbol, with or without a prefix. A unit by itself
// goes before a prefixed one: ft is the foot, not the femtotonne.
func lookUp(symbol string) (Unit, bool) {
	if u, ok := symbols[symbol]; ok {
		return u.unit, true
	}
	for _, p := range prefixes {
		rest, ok := strings.CutPrefix(symbol, p.Symbol)
		if !ok {
			continue
		}
		if u := symbols[rest]; u.prefixes {
			return u.unit.prefixed(p), true
		}
	}
	return Unit{}, false
}

func (u Unit) prefixed(p Prefix) Unit {
	u.text = p.Symbol + u.text
	u.scale.ten += p.Power
	u.factor = u.scale.float()
	return u
}
