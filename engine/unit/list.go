package unit

import "strings"

// Entry is a unit as the list of units shows it.
type Entry struct {
	Symbol   string
	Also     string // another spelling that is read; "" for none
	Name     string
	Quantity string // the kind of quantity; "" where no one name is common
	Factor   string // the size in coherent SI units, exactly: "0.0254 m", "π/180 rad"
	Prefixes bool   // whether SI prefixes may stand before it
	Source   string // where the definition is published
}

// All returns every unit: SI base units, SI units with special names, units
// accepted for use with the SI, units of the trade. Prefixed units are not
// listed; see [Prefixes].
func All() []Entry {
	list := make([]Entry, len(rows))
	for i, r := range rows {
		list[i] = Entry{
			Symbol: r.symbol, Also: r.also, Name: r.name, Quantity: r.quantityName(),
			Factor: r.factorText(), Prefixes: r.prefixes, Source: r.source,
		}
	}
	return list
}

func (r row) quantityName() string {
	if r.quantity != "" {
		return r.quantity
	}
	return r.dim.Name()
}

func (r row) factorText() string {
	text := strings.Replace(r.factor, "pi", "π", 1)
	if r.affine {
		text += " K, from 273.15 K"
	} else if r.coherent != "" {
		text += " " + r.coherent
	}
	return text
}

// Prefixes returns the SI prefixes from the largest to the smallest.
func Prefixes() []Prefix {
	return append([]Prefix(nil), prefixes[:]...)
}
