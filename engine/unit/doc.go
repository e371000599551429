// Package unit reads, prints and converts the units of the record language:
// the SI with its prefixes, the units accepted for use with it, and a few of
// the trade.
//
// A [Unit] is a value that never changes; its zero value is the unit one. It
// knows its dimension and its exact size in SI units: a power of ten, times a
// ratio of whole numbers, times a power of π. Decimal numbers as typed are
// therefore converted without any rounding but the last, to a float64.
//
// “SI Brochure” is the 9th edition (2019, version 3.01) throughout.
package unit
