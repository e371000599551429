package stat

import (
	"encoding/binary"
	"hash/fnv"
	"math/bits"
)

// Stream is a source of random bits: the permuted congruential generator
// PCG-DXSM with 128 bits of state, bit for bit that of math/rand/v2. It is
// written out here so that the samplers can keep its state in registers.
type Stream struct{ hi, lo uint64 }

// NewStream returns the stream of one source and one block of draws. It
// depends on nothing but its arguments: give every fixed block of draws its
// chunk number, and the draws are the same for any number of workers.
func NewStream(seed uint64, name string, chunk int) *Stream {
	h := fnv.New128a()
	h.Write([]byte(name)) // a hash never fails
	sum := h.Sum(nil)
	a := mix(binary.BigEndian.Uint64(sum[:8]) ^ mix(seed))
	b := mix(binary.BigEndian.Uint64(sum[8:]) ^ mix(a+uint64(chunk)))
	return &Stream{hi: mix(a ^ mix(uint64(chunk))), lo: b}
}

// mix scrambles 64 bits one to one (the finaliser of SplitMix64: Steele, Lea
// and Flood, OOPSLA 2014).
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// advance is the congruential step of the generator.
func advance(hi, lo uint64) (nextHi, nextLo uint64) {
	const (
		mulHi, mulLo = 2549297995355413924, 4865540595714422341
		incHi, incLo = 6364136223846793005, 1442695040888963407
	)
	h, l := bits.Mul64(lo, mulLo)
	h += hi*mulLo + lo*mulHi
	l, c := bits.Add64(l, incLo, 0)
	h, _ = bits.Add64(h, incHi, c)
	return h, l
}

// output permutes the state into 64 random bits.
func output(hi, lo uint64) uint64 {
	const cheapMul = 0xda942042e4dd58b5
	hi ^= hi >> 32
	hi *= cheapMul
	hi ^= hi >> 48
	return hi * (lo | 1)
}

// Uint64 returns 64 random bits.
func (s *Stream) Uint64() uint64 {
	s.hi, s.lo = advance(s.hi, s.lo)
	return output(s.hi, s.lo)
}

// signed returns a rectangular value in (−1, 1), never 0, from 53 of the bits:
// an odd multiple of 2^−52, so that the two signs are alike.
func signed(bits uint64) float64 {
	return float64(int64(bits)>>11|1) * 0x1p-52
}

// unit returns a rectangular value in (0, 1) from 52 of the bits.
func unit(bits uint64) float64 {
	return float64(int64(bits>>11|1)) * 0x1p-53
}
