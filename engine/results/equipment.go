package results

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
)

// Apparatus is the apparatus that the record was made on. Path is that of its
// file, relative to the record's root.
type Apparatus struct {
	Identity string `json:"identity,omitempty"`
	Name     string `json:"name,omitempty"`
	Place    string `json:"place,omitempty"`
	Path     string `json:"path"`
}

// Instrument is one instrument, as of the record's date. Dates are those of
// ISO 8601.
type Instrument struct {
	What        string      `json:"what,omitempty"`
	Serial      string      `json:"serial,omitempty"`
	Resolution  *Resolution `json:"resolution,omitempty"` // nil where not known
	Zero        *Zero       `json:"zero,omitempty"`       // nil where not read
	Calibrated  string      `json:"calibrated,omitempty"`
	Due         string      `json:"due,omitempty"`
	Certificate string      `json:"certificate,omitempty"`
}

// Resolution is the smallest change that an instrument shows, in the coherent
// SI unit; Display is in the unit of its scale.
type Resolution struct {
	Value   Float  `json:"value"`
	Unit    string `json:"unit"`
	Display string `json:"display"`
}

// Zero is what an instrument read where the true value is zero: the mean of
// its readings with its standard uncertainty, which holds their resolution and
// their scatter, in the coherent SI unit.
type Zero struct {
	Value    Float   `json:"value"`
	U        *Float  `json:"u,omitempty"`
	Unit     string  `json:"unit"`
	Readings []Float `json:"readings"`
}

// Practical is a method as the record followed it. Results are names within
// the practical: the value of `E` in `young` is `young.E` of the values.
type Practical struct {
	Method   string   `json:"method"`
	Version  int      `json:"version,omitempty"`
	Title    string   `json:"title,omitempty"`
	Path     string   `json:"path,omitempty"` // of a method of the lab's own, relative to the record's root
	Material string   `json:"material,omitempty"`
	Results  []string `json:"results"`
}

// Specimen is what is or was fitted to the apparatus. Certified holds what a
// certificate gives for it, by the name of the result.
type Specimen struct {
	Name      string           `json:"name"`
	What      string           `json:"what,omitempty"`
	Material  string           `json:"material,omitempty"`
	Temper    string           `json:"temper,omitempty"`
	Fitted    string           `json:"fitted"`
	Removed   string           `json:"removed,omitempty"`
	Reason    string           `json:"reason,omitempty"`
	Certified map[string]Value `json:"certified,omitempty"`
}

// equipment adds what the record was made with, as its blocks tell.
func (f *File) equipment(p *block.Program) {
	for _, inst := range p.Instances() {
		if e, ok := inst.(block.Equipped); ok {
			f.addEquipment(e.Equipment(), p.Settings)
		}
		if e, ok := inst.(block.Practised); ok {
			f.addPractice(e.Practice())
		}
	}
}

func (f *File) addPractice(m *block.Practice) {
	if m == nil {
		return
	}
	if f.Practicals == nil {
		f.Practicals = map[string]Practical{}
	}
	f.Practicals[m.Name] = Practical{Method: m.Method, Version: m.Version, Title: m.Title, Path: m.Path, Material: m.Material,
		Results: append([]string{}, m.Results...)}
}

func (f *File) addEquipment(e instrument.Equipment, settings block.Settings) {
	if a := e.Apparatus; a != nil {
		f.Apparatus = &Apparatus{Identity: a.Identity, Name: a.Name, Place: a.Place, Path: a.Path}
	}
	for _, in := range e.Instruments {
		if f.Instruments == nil {
			f.Instruments = map[string]Instrument{}
		}
		if _, taken := f.Instruments[in.Name]; !taken { // a name taken twice is a finding
			f.Instruments[in.Name] = instrumentOf(in, settings)
		}
	}
	if s := e.Specimen; s != nil {
		f.Specimen = specimenOf(s, settings)
	}
	for _, s := range e.Specimens {
		f.Specimens = append(f.Specimens, specimenOf(s, settings))
	}
}

func instrumentOf(in *instrument.Instrument, settings block.Settings) Instrument {
	out := Instrument{Serial: in.Serial, Calibrated: in.Calibrated, Due: in.Due, Certificate: in.Certificate}
	if in.What != in.Name {
		out.What = in.What
	}
	if in.Resolution > 0 {
		shown := settings.Display(eval.Scalar{Q: quantity.Exact(in.Resolution, in.Dim), Unit: &in.Unit}, quantity.Auto, 0)
		out.Resolution = &Resolution{Value: Float(in.Resolution), Unit: in.Unit.Difference().Coherent().String(), Display: shown.String()}
	}
	if z := in.Zero; z != nil {
		out.Zero = &Zero{Value: Float(z.Value()), Unit: in.Unit.Coherent().String()}
		if z.IsUncertain() {
			out.Zero.U = some(z.U())
		}
		for _, v := range in.Zeros {
			out.Zero.Readings = append(out.Zero.Readings, Float(v))
		}
	}
	return out
}

func specimenOf(s *instrument.Specimen, settings block.Settings) *Specimen {
	out := &Specimen{Name: s.Name, What: s.What, Material: s.Material, Temper: s.Temper, Fitted: s.Fitted, Removed: s.Removed, Reason: s.Reason}
	for _, c := range s.Certified {
		if out.Certified == nil {
			out.Certified = map[string]Value{}
		}
		g := gathering{settings: settings, line: c.Line}
		out.Certified[c.Name] = g.scalar(eval.Scalar{Q: c.Value, Unit: &c.Unit})
	}
	return out
}
