package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

// untilSignal returns a context that ends when the user or the system asks the
// program to end, so that what is begun can be finished. A second request ends
// the program at once.
func untilSignal() (context.Context, *signals) {
	ctx, cancel := context.WithCancel(context.Background())
	s := &signals{cancel: cancel, came: make(chan os.Signal, 1), got: make(chan os.Signal, 1)}
	signal.Notify(s.came, os.Interrupt, syscall.SIGTERM)
	go func() {
		select {
		case got := <-s.came:
			signal.Stop(s.came)
			s.got <- got
			cancel()
		case <-ctx.Done():
			signal.Stop(s.came)
		}
	}()
	return ctx, s
}

type signals struct {
	cancel    context.CancelFunc
	came, got chan os.Signal
}

func (s *signals) stop() { s.cancel() }

// pass ends the program by the signal that came, if one did: whoever called it
// is to see that.
func (s *signals) pass() {
	select {
	case got := <-s.got:
		if p, err := os.FindProcess(os.Getpid()); err == nil && p.Signal(got) == nil {
			select {}
		}
	default:
	}
}
