package block

import (
	"slices"
	"strings"
)

// guard is the condition under which a block of a method is there: all roles
// of needs are bound and none of lacks. The roles are in canonical form: NAME
// for NAME_1.
type guard struct{ needs, lacks []string }

func (g guard) empty() bool { return len(g.needs) == 0 && len(g.lacks) == 0 }

// holds reports whether the guard is satisfied where bound tells what is.
func (g guard) holds(bound map[string]bool) bool {
	for _, a := range g.needs {
		if !bound[a] {
			return false
		}
	}
	for _, a := range g.lacks {
		if bound[a] {
			return false
		}
	}
	return true
}

// text is the guard as the head of a block has it.
func (g guard) text() string {
	var out []string
	if len(g.needs) > 0 {
		out = append(out, "needs="+strings.Join(g.needs, ","))
	}
	if len(g.lacks) > 0 {
		out = append(out, "lacks="+strings.Join(g.lacks, ","))
	}
	return strings.Join(out, " ")
}

// most bounds the roles of which all ways of binding are tried; methods have
// far fewer in the conditions of one name.
const most = 16

// everyWay calls f for every way in which the roles of some guards can be
// bound, until f returns false; it returns false then. Needed roles are always
// bound, and a second column has a first.
func (t *settler) everyWay(gs []guard, f func(bound map[string]bool) bool) bool {
	var free []string
	for _, g := range gs {
		for _, a := range slices.Concat(g.needs, g.lacks) {
			for _, a := range []string{a, t.two[a]} {
				if a != "" && !t.always[a] && !slices.Contains(free, a) {
					free = append(free, a)
				}
			}
		}
	}
	if len(free) > most {
		free = free[:most]
	}
	bound := map[string]bool{}
	for name, yes := range t.always {
		bound[name] = yes
	}
	for n := range 1 << len(free) {
		for i, a := range free {
			bound[a] = n>>i&1 == 1
		}
		sound := true
		for _, a := range free {
			if first := t.two[a]; first != "" && bound[a] && !bound[first] {
				sound = false
			}
		}
		if sound && !f(bound) {
			return false
		}
	}
	return true
}

// possible reports whether a guard can hold at all.
func (t *settler) possible(g guard) bool {
	return !t.everyWay([]guard{g}, func(bound map[string]bool) bool { return !g.holds(bound) })
}

// covered reports whether one of the definitions is there whenever the guard
// holds.
func (t *settler) covered(when guard, defs []defined) bool {
	gs := []guard{when}
	for _, d := range defs {
		gs = append(gs, d.when)
	}
	return t.everyWay(gs, func(bound map[string]bool) bool {
		return !when.holds(bound) || slices.ContainsFunc(defs, func(d defined) bool { return d.when.holds(bound) })
	})
}
