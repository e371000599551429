package build

import (
	"context"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// TestInOrder: every outcome once and in order, however long each piece takes
// and however many work.
func TestInOrder(t *testing.T) {
	for _, workers := range []int{0, 1, 2, 7, 1000} {
		for _, n := range []int{0, 1, 2, 300} {
			next := 0
			got := InOrder(t.Context(), n, workers, func(i int) int {
				if rand.IntN(10) == 0 {
					time.Sleep(time.Duration(rand.IntN(500)) * time.Microsecond)
				}
				return i * i
			}, func(i, square int) bool {
				if i != next || square != i*i {
					t.Fatalf("%d workers: piece %d with %d came in the place of %d", workers, i, square, next)
				}
				next++
				return true
			})
			if got != n || next != n {
				t.Errorf("%d workers: %d and %d of %d pieces were done", workers, got, next, n)
			}
		}
	}
}

// TestInOrderBounds: no more work at once than asked for, and none far ahead
// of an outcome that waits.
func TestInOrderBounds(t *testing.T) {
	const workers, n = 3, 500
	var now, most, begun atomic.Int64
	release := make(chan struct{})
	var once sync.Once
	InOrder(t.Context(), n, workers, func(i int) int {
		begun.Add(1)
		if k := now.Add(1); k > most.Load() {
			most.Store(k)
		}
		defer now.Add(-1)
		if i == 0 {
			<-release // the first is the last
		} else if begun.Load() >= workers*mostWaiting {
			once.Do(func() {
				time.Sleep(20 * time.Millisecond) // whoever runs ahead does so now
				if ahead := begun.Load(); ahead > workers*(mostWaiting+1)+2 {
					t.Errorf("%d pieces were begun before the first was done", ahead)
				}
				close(release)
			})
		}
		return i
	}, func(int, int) bool { return true })
	if most.Load() > workers {
		t.Errorf("%d pieces at once for %d workers", most.Load(), workers)
	}
}

// TestInOrderStops: what is begun is finished and handed on, and then there is
// an end, whether done or the context asks for it.
func TestInOrderStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	for _, byContext := range []bool{false, true} {
		var begun atomic.Int64
		next := 0
		got := InOrder(ctx, 10000, 2, func(i int) int { begun.Add(1); return i }, func(i, _ int) bool {
			if i != next {
				t.Fatalf("%d came in the place of %d", i, next)
			}
			next++
			if i == 20 && byContext {
				cancel()
			}
			return byContext || i < 20
		})
		if got != int(begun.Load()) || got < 21 || got > 100 {
			t.Errorf("%d begun, %d done of those until the 21st", begun.Load(), got)
		}
	}
}
