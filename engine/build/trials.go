package build

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"sync"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/trial"
)

// TrialCache keeps outcomes of Monte Carlo evaluations by trial.Key. It may be
// used by several goroutines at once, and what it returns is not to be
// changed.
type TrialCache interface {
	// Get returns an outcome that is kept. A nil one with true leaves the
	// evaluation out.
	Get(key [sha256.Size]byte) (*trial.Result, bool)
	Put(key [sha256.Size]byte, r *trial.Result)
}

// runTrials runs what the record's blocks ask for, as far as it is not in the
// cache.
func runTrials(p *block.Program, o Options) {
	for _, j := range p.Jobs() {
		opt := j.Options
		opt.Workers = o.Workers
		j.Result, j.Err = runTrial(j, opt, o.Trials)
		if j.Err != nil && !errors.Is(j.Err, trial.ErrExact) {
			p.Set.Add(noTrials(j))
		}
	}
}

func runTrial(j *block.Job, opt trial.Options, cache TrialCache) (*trial.Result, error) {
	if cache == nil {
		return trial.Run(j.Q, j.Expanded, opt)
	}
	key := trial.Key(j.Q, j.Expanded, opt)
	if r, ok := cache.Get(key); ok {
		return r, nil
	}
	r, err := trial.Run(j.Q, j.Expanded, opt)
	if err == nil {
		cache.Put(key, r)
	}
	return r, err
}

// noTrials: `trials: 5`.
func noTrials(j *block.Job) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "no-trials", At: j.At,
		Message: fmt.Sprintf("the Monte Carlo evaluation of `%s` can't be made: %s", j.Of, j.Err)}
}

// Memory is a TrialCache that keeps the latest outcomes, up to a number.
type Memory struct {
	mu    sync.Mutex
	limit int
	of    map[[sha256.Size]byte]*trial.Result
	order [][sha256.Size]byte
}

var _ TrialCache = (*Memory)(nil)

// NewMemory returns a cache for that many outcomes.
func NewMemory(limit int) *Memory {
	return &Memory{limit: max(limit, 1), of: map[[sha256.Size]byte]*trial.Result{}}
}

// Get implements TrialCache.
func (m *Memory) Get(key [sha256.Size]byte) (*trial.Result, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	r, ok := m.of[key]
	return r, ok
}

// Put implements TrialCache.
func (m *Memory) Put(key [sha256.Size]byte, r *trial.Result) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.of[key]; !ok {
		if len(m.order) == m.limit {
			delete(m.of, m.order[0])
			m.order = m.order[1:]
		}
		m.order = append(m.order, key)
	}
	m.of[key] = r
}
