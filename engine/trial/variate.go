package trial

import (
	"fmt"
	"math"
	"sort"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
)

// variate is what one stream draws: the standard distribution of one source,
// or the dim standard coordinates of a group.
type variate struct {
	name    string // of the stream
	label   string // for a reader
	dof     float64
	dim     int
	sampler stat.Sampler
	joint   *stat.MultivariateT // instead of sampler, where dim > 1
}

// isDrawn reports whether a source varies at all.
func isDrawn(s *quantity.Source) bool {
	if s.Group != nil {
		i := s.Index
		return i >= 0 && i < len(s.Group.Cov) && i < len(s.Group.Cov[i]) && s.Group.Cov[i][i] != 0
	}
	return s.U != 0
}

// newVariate returns what draws a source that stands alone, and the factor by
// which a standard draw becomes a deviation from the estimate.
func newVariate(s *quantity.Source) (variate, float64, error) {
	v := variate{name: s.ID, label: s.Label, dof: math.Inf(1), dim: 1}
	if !isFinite(s.U) || s.U < 0 {
		return v, 0, fmt.Errorf("the standard uncertainty of %s is %v", s.Label, s.U)
	}
	switch s.Dist {
	case quantity.Rectangular:
		v.sampler = stat.Rectangular()
		return v, s.U * math.Sqrt(3), nil
	case quantity.Triangular:
		v.sampler = stat.Triangular()
		return v, s.U * math.Sqrt(6), nil
	case quantity.Arcsine:
		v.sampler = stat.Arcsine()
		return v, s.U * math.Sqrt2, nil
	case quantity.Normal, quantity.StudentT:
		// A normal source whose u rests on few degrees of freedom is a scaled
		// and shifted t distribution (JCGM 101, 6.4.9.7).
		v.dof = s.DOF
		var err error
		v.sampler, err = tSampler(s.DOF, s.Label)
		return v, s.U, err
	}
	return v, 0, fmt.Errorf("%s has a distribution that cannot be drawn (%d)", s.Label, int(s.Dist))
}

func tSampler(dof float64, label string) (stat.Sampler, error) {
	if !(dof >= stat.MinDOF) {
		return nil, fmt.Errorf("%s has %v degrees of freedom: fewer than %v cannot be drawn", label, dof, stat.MinDOF)
	}
	if math.IsInf(dof, 1) {
		return stat.Normal(), nil
	}
	return stat.StudentT(dof), nil
}

// groupUse is how the coefficients of one fit are used in one program.
type groupUse struct {
	group  *quantity.Group
	root   [][]float64 // lower triangular, root·rootᵀ = Cov
	uses   [][]float64 // sensitivities to the coefficients, one row per use
	single bool        // all uses are multiples of one
}

func newGroupUse(g *quantity.Group) (*groupUse, error) {
	root, err := cholesky(g.Cov)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", g.Label, err)
	}
	return &groupUse{group: g, root: root, single: true}, nil
}

// add notes one use.
func (u *groupUse) add(terms []quantity.Term) error {
	c := make([]float64, len(u.root))
	for _, t := range terms {
		i := t.Source.Index
		if i < 0 || i >= len(c) {
			return fmt.Errorf("%s is coefficient %d of %d", t.Source.Label, i, len(c))
		}
		c[i] += t.C
	}
	u.uses = append(u.uses, c)
	u.single = u.single && proportional(u.uses[0], c)
	return nil
}

// coordinates returns, for the i-th use, the factors of the group's standard
// coordinates. If everything that is used is a multiple of one combination,
// then that is a single coordinate.
func (u *groupUse) coordinates(i int) []float64 {
	c := u.uses[i]
	z := make([]float64, len(c))
	for j := range z {
		for k := j; k < len(c); k++ {
			z[j] += float64(u.root[k][j] * c[k])
		}
	}
	if !u.single {
		return z
	}
	norm := 0.0
	for _, x := range z {
		norm = math.Hypot(norm, x)
	}
	for _, x := range c {
		if x != 0 {
			return []float64{math.Copysign(norm, x)}
		}
	}
	return []float64{0}
}

// variate returns what draws the coordinates.
func (u *groupUse) variate() (variate, error) {
	g := u.group
	v := variate{name: g.ID, label: g.Label, dof: g.DOF, dim: len(u.root)}
	if u.single {
		v.dim = 1
	}
	var err error
	v.sampler, err = tSampler(g.DOF, g.Label)
	if err == nil && v.dim > 1 {
		v.joint = stat.NewMultivariateT(g.DOF, v.dim)
	}
	return v, err
}

// proportional reports whether a and b are multiples of each other, but for
// rounding.
func proportional(a, b []float64) bool {
	big := 0
	for i := range a {
		if math.Abs(a[i]) > math.Abs(a[big]) {
			big = i
		}
	}
	if a[big] == 0 || b[big] == 0 {
		return false
	}
	r := b[big] / a[big]
	for i := range a {
		if math.Abs(b[i]-r*a[i]) > 1e-13*math.Abs(b[i]) {
			return false
		}
	}
	return true
}

// cholesky returns the lower triangular root of a positive semi-definite
// matrix: where a coefficient is a combination of those before it, its
// diagonal element is 0.
func cholesky(cov [][]float64) ([][]float64, error) {
	n := len(cov)
	root := make([][]float64, n)
	for i := range root {
		if len(cov[i]) != n {
			return nil, fmt.Errorf("the covariance matrix has %d rows and %d columns", n, len(cov[i]))
		}
		root[i] = make([]float64, n)
	}
	for j := range n {
		for i := j; i < n; i++ {
			sum := cov[i][j]
			for k := range j {
				sum -= float64(root[i][k] * root[j][k])
			}
			if i > j {
				if root[j][j] > 0 {
					root[i][j] = sum / root[j][j]
				}
				continue
			}
			switch {
			case !isFinite(sum) || sum < -1e-9*math.Abs(cov[j][j]):
				return nil, fmt.Errorf("the covariance matrix is not positive semi-definite")
			case sum > 1e-14*cov[j][j]:
				root[j][j] = math.Sqrt(sum)
			}
		}
	}
	return root, nil
}

func sortBySource(terms []quantity.Term) {
	sort.SliceStable(terms, func(i, j int) bool { return terms[i].Source.Less(terms[j].Source) })
}
