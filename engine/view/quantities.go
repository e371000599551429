package view

// Quantities is the table of the named values of a record: what each is, what
// it rests on and what uses it. It is no part of a blank sheet.
type Quantities struct {
	ID       string
	Coverage string // of the uncertainties behind ±, "95 %"
	Entries  []Entry
	// OnScreen leaves the table out of print, where the steps say the same.
	OnScreen bool
}

// Entry is one named value.
type Entry struct {
	ID      string // unique on the page
	At      string // ID of the node that shows how it is worked out; it may not be on the page
	Name    string
	Label   string // what it is, in the author's Markdown, to be read by Inline; "" for none
	How     Text   // the definition as it was typed, with a Ref for each name in it
	Value   Text
	Sources []Share // the main sources of its uncertainty, the greatest first
	UsedBy  []Ref
	Place   string // where it is written, "line 12"
	// Behind says that nothing which the page shows rests on it: a check does.
	Behind bool
}

// Share is a source of uncertainty with its share of the variance.
type Share struct {
	Source Ref
	Text   string // "97 %"
}

func (*Quantities) node() {}
func (Ref) run()          {}
