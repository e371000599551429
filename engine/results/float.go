package results

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// Float is a number that is written with its shortest digits that read back as
// the same float64, and as null where it is not finite.
type Float float64

// MarshalJSON implements json.Marshaler.
func (f Float) MarshalJSON() ([]byte, error) {
	v := float64(f)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	if v == 0 {
		return []byte("0"), nil // no negative zero
	}
	form := byte('f')
	if a := math.Abs(v); a < 1e-4 || a >= 1e9 {
		form = 'e'
	}
	return strconv.AppendFloat(nil, v, form, -1, 64), nil
}

// UnmarshalJSON implements json.Unmarshaler; null is NaN.
func (f *Float) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*f = Float(math.NaN())
		return nil
	}
	return json.Unmarshal(text, (*float64)(f))
}

// MarshalJSON implements json.Marshaler.
func (r Residuals) MarshalJSON() ([]byte, error) {
	if len(r) == 1 {
		return json.Marshal(r[0])
	}
	return json.Marshal([][]Float(r))
}

// UnmarshalJSON implements json.Unmarshaler.
func (r *Residuals) UnmarshalJSON(text []byte) error {
	if t := bytes.TrimLeft(text, "[ \t\r\n"); len(t) > 0 && bytes.Count(text[:len(text)-len(t)], []byte("[")) > 1 {
		return json.Unmarshal(text, (*[][]Float)(r))
	}
	var flat []Float
	if err := json.Unmarshal(text, &flat); err != nil {
		return err
	}
	*r = Residuals{flat}
	return nil
}

// some returns a pointer to a number; nil where it is not finite.
func some(v float64) *Float {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	f := Float(v)
	return &f
}
