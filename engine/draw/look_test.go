package draw

import (
	"example.org/taut/engine/view"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

func TestLook(t *testing.T) {
	var fs [][]byte
	add := func(b []byte, e error) {
		if e != nil {
			t.Error(e)
			return
		}
		fs = append(fs, b)
	}
	add(Figure(wire(), Options{}))
	add(Figure(stress(), Options{Comma: true}))
	add(Figure(cantilever(), Options{}))
	add(Bars(shares(), Options{Comma: true}))
	w := wire()
	w.ID = "w2"
	w.Residual = nil
	w.Series = w.Series[:1]
	w.Lines = w.Lines[:1]
	add(Figure(w, Options{}))
	one := &view.Figure{ID: "one", Title: "One", X: view.Axis{Quantity: "x", Unit: "m/s^2"}, Y: view.Axis{Quantity: "T", Unit: "K"}, Series: []view.Series{{Marks: true, Points: []view.Point{{X: 3, Y: -4}}}}}
	add(Figure(one, Options{}))
	big := &view.Figure{ID: "big", Title: "Big " + "שלום עולם e\u0301e\u0301 " + "العربية", X: view.Axis{Quantity: "العربية", Unit: "m"}, Y: view.Axis{Quantity: "a very long quantity of which the label does not end before the end of the paper, and further", Unit: "K"}, Series: []view.Series{{Marks: true, Points: []view.Point{{X: 1e-300, Y: -1e308}, {X: 2e-300, Y: 1e308}}}}}
	add(Figure(big, Options{}))
	r := rand.New(rand.NewPCG(1, 2))
	ten := &view.Figure{ID: "ten", Title: "10000", X: view.Axis{Quantity: "t", Unit: "s"}, Y: view.Axis{Quantity: "U", Unit: "V"}, Series: []view.Series{{Marks: true}}}
	for i := 0; i < 10000; i++ {
		x := r.Float64() * 1000
		ten.Series[0].Points = append(ten.Series[0].Points, view.Point{X: 100000 + x, Y: math.Sin(x/100) + r.NormFloat64()*.1})
	}
	add(Figure(ten, Options{}))
	neg := &view.Bars{ID: "neg", Title: "Neg", Items: []view.Bar{{Label: "a", Share: 1.2}, {Label: "b and a", Share: -.2}}}
	add(Bars(neg, Options{}))
	html := "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'><style>:root{color-scheme:light dark}body{margin:12px;font:16px/1.5 Georgia,serif;background:#fffefb;color:#1d2326}@media(prefers-color-scheme:dark){body{background:#171b1d;color:#e9e6dd}}@media print{body{background:#fff;color:#000}}figure{margin:0 0 24px;max-width:640px}" + CSS() + "</style>"
	for i, b := range fs {
		html += "<figure>" + string(b) + "</figure>"
		fmt.Println(i, len(b))
	}
	os.WriteFile("/tmp/dw/x.html", []byte(html), 0o644)
}
