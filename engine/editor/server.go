// Package editor serves a text editor over the Language Server Protocol:
// findings as diagnostics while a record is written, what a name stands for,
// where it is defined, and what can be written at a place. It evaluates by
// package build and prints nothing but the protocol.
package editor

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"runtime/debug"

	"github.com/sourcegraph/jsonrpc2"

	"example.org/taut/engine/build"
)

// Serve speaks the protocol until the editor ends it. It returns whether the
// editor took its leave as the protocol asks. What goes wrong within is told
// to errs.
func Serve(in io.Reader, out io.Writer, errs io.Writer, o build.Options) (orderly bool) {
	s := &server{options: o, documents: map[string]*document{}, reports: map[string]map[string][]diagnostic{}, errs: errs, encoding: utf16Units}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	s.stop = stop
	conn := jsonrpc2.NewConn(ctx, jsonrpc2.NewBufferedStream(pipe{in, out}, jsonrpc2.VSCodeObjectCodec{}), jsonrpc2.HandlerWithError(s.handle),
		jsonrpc2.SetLogger(log.New(errs, "taut: ", 0)))
	select {
	case <-conn.DisconnectNotify():
	case <-ctx.Done():
	}
	return s.leaving
}

// pipe is the two ends as one stream.
type pipe struct {
	io.Reader
	io.Writer
}

// Close leaves both ends to whoever opened them.
func (pipe) Close() error { return nil }

// server is one editor's. The connection hands it one message at a time.
type server struct {
	options  build.Options
	encoding string
	errs     io.Writer
	stop     func()

	ready, leaving bool
	documents      map[string]*document               // open ones, by path
	reports        map[string]map[string][]diagnostic // by the record that makes them, then by the file in which they stand
}

// Errors of the protocol.
const (
	notInitialized = -32002
	requestFailed  = -32803
)

// requests are what is answered; notifications get no answer.
var requests = map[string]func(*server, json.RawMessage) (any, error){
	"initialize":              decoded((*server).initialize),
	"shutdown":                func(s *server, _ json.RawMessage) (any, error) { s.leaving = true; return nil, nil },
	"textDocument/hover":      decoded((*server).hover),
	"textDocument/definition": decoded((*server).definition),
	"textDocument/completion": decoded((*server).completion),
}

type notifier func(*server, *jsonrpc2.Conn, json.RawMessage) error

var notifications = map[string]notifier{
	"initialized":                     func(*server, *jsonrpc2.Conn, json.RawMessage) error { return nil },
	"exit":                            func(s *server, _ *jsonrpc2.Conn, _ json.RawMessage) error { s.stop(); return nil },
	"textDocument/didOpen":            notified((*server).didOpen),
	"textDocument/didChange":          notified((*server).didChange),
	"textDocument/didClose":           notified((*server).didClose),
	"textDocument/didSave":            notified((*server).didSave),
	"workspace/didChangeWatchedFiles": notified((*server).didChangeWatched),
}

func decoded[T any](f func(*server, T) (any, error)) func(*server, json.RawMessage) (any, error) {
	return func(s *server, raw json.RawMessage) (any, error) {
		var p T
		if err := json.Unmarshal(raw, &p); err != nil {
			return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidParams, Message: err.Error()}
		}
		return f(s, p)
	}
}

func notified[T any](f func(*server, *jsonrpc2.Conn, T) error) notifier {
	return func(s *server, c *jsonrpc2.Conn, raw json.RawMessage) error {
		var p T
		if err := json.Unmarshal(raw, &p); err != nil {
			return err
		}
		return f(s, c, p)
	}
}

// handle answers one message. A fault of the program is told and does not end
// the editor's session.
func (s *server) handle(_ context.Context, c *jsonrpc2.Conn, r *jsonrpc2.Request) (answer any, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			fmt.Fprintf(s.errs, "taut: %s: %v\n%s", r.Method, fault, debug.Stack())
			answer, err = nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInternalError, Message: fmt.Sprintf("%s: a fault of the program: %v", r.Method, fault)}
		}
	}()
	params := json.RawMessage("null")
	if r.Params != nil {
		params = *r.Params
	}
	if r.Notif {
		if do := notifications[r.Method]; do != nil && (s.ready || r.Method == "exit") {
			if err := do(s, c, params); err != nil {
				fmt.Fprintf(s.errs, "taut: %s: %v\n", r.Method, err)
			}
		}
		return nil, nil
	}
	do := requests[r.Method]
	switch {
	case do == nil:
		return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeMethodNotFound, Message: r.Method + " is not answered"}
	case !s.ready && r.Method != "initialize":
		return nil, &jsonrpc2.Error{Code: notInitialized, Message: "`initialize` comes first"}
	case s.leaving:
		return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidRequest, Message: "nothing follows `shutdown` but `exit`"}
	}
	return do(s, params)
}

func (s *server) initialize(p initializeParams) (any, error) {
	if s.ready {
		return nil, &jsonrpc2.Error{Code: jsonrpc2.CodeInvalidRequest, Message: "`initialize` comes once"}
	}
	s.ready = true
	for _, e := range p.Capabilities.General.PositionEncodings {
		if e == utf8Units {
			s.encoding = utf8Units
		}
	}
	return initializeResult{
		Capabilities: capabilities{
			PositionEncoding:   s.encoding,
			TextDocumentSync:   syncOptions{OpenClose: true, Change: fullSync, Save: saveOptions{}},
			HoverProvider:      true,
			DefinitionProvider: true,
			CompletionProvider: completionOptions{TriggerCharacters: []string{".", "@", "`", "=", "["}},
		},
		ServerInfo: serverInfo{Name: "taut", Version: s.options.Version},
	}, nil
}
