// Package near finds the known name closest to a mistyped one.
package near

import (
	"sort"
	"strings"
)

// Name returns the known name nearest to the given one, or "" where none is
// near enough to be worth offering. Case and the order of the known names do
// not matter.
func Name(name string, known []string) string {
	best, bestD := "", 1<<30
	sorted := append([]string(nil), known...)
	sort.Strings(sorted)
	a := []rune(strings.ToLower(name))
	limit := (len(a) + 2) / 3
	for _, k := range sorted {
		if k == name {
			continue
		}
		b := []rune(strings.ToLower(k))
		if abs(len(a)-len(b)) > limit {
			continue
		}
		// A short name that shares no letter with another is not near it.
		if d := distance(a, b); d < bestD && d < len(a) {
			best, bestD = k, d
		}
	}
	if bestD > limit {
		return ""
	}
	return best
}

// distance counts the insertions, deletions, replacements and swaps of
// neighbours that turn a into b.
func distance(a, b []rune) int {
	prev2 := make([]int, len(b)+1)
	prev := make([]int, len(b)+1)
	cur := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return prev[len(b)]
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
