package unit_test

import (
	"fmt"

	"example.org/taut/engine/unit"
)

func ExampleParse() {
	u, err := unit.Parse("kN/mm²")
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := u.ToSI("197.3")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(u, u.Coherent(), u.Dim(), u.Dim().Name(), v)

	_, err = unit.Parse("mm/kgs")
	fmt.Println(err)
	// Output:
	// kN/mm^2 N/m^2 kg m^-1 s^-2 pressure or stress 1.973e+11
	// unknown unit kgs; did you mean "kg"?
}

func ExampleOf() {
	force, area := unit.MustParse("kgf").Dim(), unit.MustParse("mm^2").Dim()
	root, _ := area.Pow(1, 2)
	fmt.Println(unit.Of(force), unit.Of(force.Div(area)), unit.Of(root))
	// Output: N Pa m
}
