package build

import (
	"context"
	"runtime"
	"sync"
)

// mostWaiting is how many outcomes for each worker wait at most for their turn.
const mostWaiting = 8

// InOrder does n pieces of work by at most so many workers at once, 0 for one
// on each processor, and hands the outcomes to done in the order of their
// pieces, from one goroutine: whatever done makes of them depends on no number
// of workers. As outcomes wait for those before them, no worker runs far ahead,
// so that what is held does not grow with n.
//
// Once ctx ends or done returns false, no further piece is begun; those that
// are begun are finished and handed on, without a gap. InOrder returns how
// many were done.
func InOrder[T any](ctx context.Context, n, workers int, do func(i int) T, done func(i int, outcome T) bool) int {
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = max(min(workers, n), 1)
	ctx, stop := context.WithCancel(ctx)
	defer stop()

	type piece struct {
		i       int
		outcome chan T
	}
	work := make(chan piece)
	turns := make(chan piece, workers*mostWaiting)
	go func() {
		defer close(turns)
		defer close(work)
		for i := range n {
			p := piece{i, make(chan T, 1)}
			select {
			case <-ctx.Done():
				return
			default:
			}
			// The turn comes first: it waits where too many outcomes do.
			select {
			case turns <- p:
			case <-ctx.Done():
				return
			}
			work <- p
		}
	}()
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for p := range work {
				p.outcome <- do(p.i)
			}
		})
	}
	count := 0
	for p := range turns {
		if !done(p.i, <-p.outcome) {
			stop()
		}
		count++
	}
	all.Wait()
	return count
}
