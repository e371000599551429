// Package preview shows records while they are written: a server on one's own
// machine that builds a page when a file of its record is saved, and tells the
// browser. It builds pages by package build as everything does, writes no
// file, and serves built pages and nothing else.
//
// A page that is served is the built page with three things added: a panel
// over it, which holds the findings; the last good values, marked as such,
// where a value cannot be had now; and a script that puts a newer page in the
// place of this one. The page's policy then allows that one script, by its
// hash, and no other.
package preview

import (
	"context"
	"crypto/rand"
	"errors"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"example.org/taut/engine/build"
	"example.org/taut/engine/page"
)

// Options are what a preview is given beside the path.
type Options struct {
	// Build is how records are built; View and Theme are set anew each time.
	Build build.Options
	// Theme returns the theme of all pages, read anew for each build; nil for
	// the one that each record names.
	Theme func() (*page.Theme, error)
	// ThemeDir is the folder that Theme reads, to be watched; "" for none.
	ThemeDir string
	// Token is what a browser must show once before it is served anything; ""
	// for none. Without one the server answers only to the names of the
	// loopback address.
	Token string
	// Names are further host names that the server answers to.
	Names []string
	// Saved is told of each record that was built because a file was saved, or
	// why it could not be; nil for nobody.
	Saved func(record string, out *build.Output, err error)
	// NoEvents leaves the system's word that files changed unasked for, and
	// looks at them from time to time instead.
	NoEvents bool
}

// Server shows one record, or those below a folder. It is an http.Handler.
type Server struct {
	o      Options
	folder string // as it was named; of the record where it is one
	record string // its name in the folder; "" for a folder
	stamp  string // tells this server from one before it at the same address

	building sync.Mutex // builds go one after another
	mu       sync.Mutex // guards what follows, and the fields of sheets
	sheets   map[string]*sheet
	lasting  map[string]map[string]string // by record: the last value of each name, as text
	versions int
	closed   bool
	opened   chan struct{} // somebody has begun to look at a sheet

	hosts hosts
}

// New returns a preview of a record or of the records below a folder. Nothing
// is built before a browser asks for it.
func New(path string, o Options) (*Server, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	s := &Server{o: o, folder: filepath.Clean(path), sheets: map[string]*sheet{}, lasting: map[string]map[string]string{},
		opened: make(chan struct{}, 1), stamp: rand.Text()[:8]}
	if !info.IsDir() {
		s.folder, s.record = filepath.Dir(s.folder), filepath.Base(s.folder)
	}
	return s, nil
}

// Serve answers on a listener until the context is done, and then ends
// whatever is open.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	s.hosts = answersTo(l.Addr(), s.o)
	ctx, cancel := context.WithCancel(ctx)
	var running sync.WaitGroup
	srv := &http.Server{Handler: s, ReadHeaderTimeout: 5 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10}
	running.Go(func() { s.watch(ctx) })
	running.Go(func() {
		<-ctx.Done()
		s.close()
		brief, stop := context.WithTimeout(context.Background(), 200*time.Millisecond)
		defer stop()
		if srv.Shutdown(brief) != nil {
			srv.Close()
		}
	})
	err := srv.Serve(l)
	cancel()
	running.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// close ends all event streams.
func (s *Server) close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	for _, sh := range s.sheets {
		sh.tell()
	}
}
