package unit

import "strconv"

// Error says what is wrong with a unit, or with a number that was to be
// converted, and where.
type Error struct {
	Offset  int    // where it begins, in bytes into the text that was read
	Len     int    // bytes; 0 at the end of the text
	Text    string // the offending piece as it was typed
	Message string // without position and without Nearest
	Nearest string // the unit that may have been meant; "" for none
}

// Error returns the message with the nearest unit, without the position.
func (e *Error) Error() string {
	if e.Nearest == "" {
		return e.Message
	}
	return e.Message + "; did you mean " + strconv.Quote(e.Nearest) + "?"
}
