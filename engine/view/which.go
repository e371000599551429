package view

// View is one way to print a record.
type View int

const (
	// AsRecord is the record as it is written.
	AsRecord View = iota
	// AsWorked is the record with every step of its calculations: symbols, the
	// numbers put in, units reduced, the result rounded by its uncertainty.
	AsWorked
	// AsBlank is the sheet that is handed out before the practical: room for
	// readings, calculations and answers, and none of them anywhere in it.
	AsBlank
)

var viewNames = [...]string{AsRecord: "record", AsWorked: "worked", AsBlank: "blank"}

// String returns the name of the view, as it is typed.
func (v View) String() string {
	if v < 0 || int(v) >= len(viewNames) {
		return "unknown"
	}
	return viewNames[v]
}

// Names lists the names of the views.
func Names() []string { return append([]string(nil), viewNames[:]...) }

// Named returns the view of that name.
func Named(name string) (View, bool) {
	for v, n := range viewNames {
		if n == name {
			return View(v), true
		}
	}
	return AsRecord, false
}
