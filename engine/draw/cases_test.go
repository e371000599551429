package draw

import (
	"fmt"
	"math"

	"example.org/taut/engine/view"
)

// The figures of the tests. All data are invented.

// wire is a hanging wire read while loading and unloading.
func wire() *view.Figure {
	loads := []float64{0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4}
	up := []float64{0.21, 0.44, 0.63, 0.87, 1.06, 1.30, 1.49, 1.73}
	down := []float64{0.24, 0.45, 0.67, 0.88, 1.10, 1.31, 1.52, 1.73}
	f := &view.Figure{
		ID:    "pull-graph",
		Title: "Extension of the wire against the load",
		Desc:  "Extension of the wire against the load, with the fitted line of slope 0.4297 mm/kg and its limits",
		X:     view.Axis{Quantity: "load", Unit: "kg"},
		Y:     view.Axis{Quantity: "extension", Unit: "mm"},
		Series: []view.Series{
			{Name: "loading", Marks: true, Bars: true},
			{Name: "unloading", Marks: true, Bars: true},
		},
		Lines: []view.Line{
			{Name: "fitted line", Kind: view.Fitted, Points: []view.Point{{X: 0, Y: 0.009}, {X: 4.2, Y: 1.812}}},
			{Kind: view.Steepest, Points: []view.Point{{X: 0, Y: -0.03}, {X: 4.2, Y: 1.85}}},
			{Kind: view.Shallowest, Points: []view.Point{{X: 0, Y: 0.05}, {X: 4.2, Y: 1.77}}},
		},
		Triangle: &view.Triangle{X0: 0.75, Y0: 0.331, X1: 3.75, Y1: 1.619, DX: 3, DY: 1.288, Figures: 4, UX: "kg", UY: "mm"},
		Residual: &view.Panel{Y: view.Axis{Quantity: "residual", Unit: "mm"}, Zero: true, Series: []view.Series{
			{Name: "loading", Marks: true, Bars: true}, {Name: "unloading", Marks: true, Bars: true},
		}},
	}
	for i, x := range loads {
		for j, y := range []float64{up[i], down[i]} {
			note := fmt.Sprintf("row %d: load %.2f kg, extension %.2f mm", i+1, x, y)
			f.Series[j].Points = append(f.Series[j].Points, view.Point{X: x, Y: y, UX: 0.02, UY: 0.03, Note: note})
			f.Residual.Series[j].Points = append(f.Residual.Series[j].Points,
				view.Point{X: x, Y: y - 0.009 - 0.4293*x, UY: 0.03, Note: note})
		}
	}
	return f
}

// stress has large numbers, a curve and no legend.
func stress() *view.Figure {
	f := &view.Figure{
		ID:     "stress",
		Title:  "Stress in the wire",
		X:      view.Axis{Quantity: "ε", Unit: "1"},
		Y:      view.Axis{Quantity: "σ", Unit: "Pa"},
		Series: []view.Series{{Name: "readings", Marks: true}},
		Lines:  []view.Line{{Name: "quadratic", Kind: view.Fitted}},
	}
	for i := 1.0; i <= 9; i++ {
		x := i * 1.3e-4
		f.Series[0].Points = append(f.Series[0].Points, view.Point{X: x, Y: 1.9e11*x - 3e13*x*x + 1e6*math.Sin(7*i)})
	}
	for i := 0.0; i <= 40; i++ {
		x := i / 40 * 12e-4
		f.Lines[0].Points = append(f.Lines[0].Points, view.Point{X: x, Y: 1.9e11*x - 3e13*x*x})
	}
	return f
}

// cantilever slopes down through negative values, with a power in its unit.
func cantilever() *view.Figure {
	f := &view.Figure{
		ID:    "cantilever",
		Title: "Depression of the free end of a cantilever against the cube of its length, for five loads",
		X:     view.Axis{Quantity: "L^3", Unit: "m^3"},
		Y:     view.Axis{Quantity: "y_0", Unit: "mm"},
	}
	for k := range 5 {
		s := view.Series{Name: fmt.Sprintf("%d00 g", k+1), Marks: true, Join: true}
		for i := 2.0; i <= 8; i++ {
			l := i / 10
			s.Points = append(s.Points, view.Point{X: l * l * l, Y: 2 - float64(k+1)*12*l*l*l})
		}
		f.Series = append(f.Series, s)
	}
	f.Triangle = &view.Triangle{X0: 0.1, Y0: 2 - 36*0.1, X1: 0.45, Y1: 2 - 36*0.45, DX: 0.35, DY: -12.6, Figures: 3, UX: "m^3", UY: "mm"}
	return f
}

func shares() *view.Bars {
	return &view.Bars{
		ID:    "budget-shares",
		Title: "Shares of the variance of E",
		Desc:  "The diameter makes up 71.4 % of the variance",
		Items: []view.Bar{
			{Label: "diameter: resolution of the micrometer screw", Share: 0.714, Text: "71.4 %"},
			{Label: "slope of the line", Share: 0.193, Text: "19.3 %"},
			{Label: "length L", Share: 0.061, Text: "6.1 %"},
			{Label: "diameter: a calibration of the screw against gauge blocks in the workshop of the laboratory", Share: 0.031, Text: "3.1 %"},
			{Label: "g", Share: 0.001, Text: "0.1 %"},
		},
	}
}

// odd has one point, a name from right to left, marks to be escaped and a label
// too long for the paper.
func odd() *view.Figure {
	return &view.Figure{
		ID:     "odd",
		Title:  "Points < 2 & \"one\"",
		X:      view.Axis{Quantity: "עומס", Unit: "kg"},
		Y:      view.Axis{Quantity: "a quantity of which the name is so long that it does not end before the paper does", Unit: "m/s^2"},
		Series: []view.Series{{Marks: true, Points: []view.Point{{X: 31e4, Y: -4e-7}}}},
	}
}

func signed() *view.Bars {
	return &view.Bars{ID: "signed", Title: "Shares of correlated sources", Items: []view.Bar{
		{Label: "load", Share: 1.15}, {Label: "load and length", Share: -0.2}, {Label: "length", Share: 0.05},
	}}
}
