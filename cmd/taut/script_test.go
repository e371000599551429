package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"strconv"
	"syscall"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the outputs that scripts compare with")

func TestMain(m *testing.M) {
	// What one test built is nothing to another, nor to whoever runs them.
	if _, set := os.LookupEnv(keepVariable); !set {
		os.Setenv(keepVariable, "off")
	}
	testscript.Main(m, map[string]func(){"taut": main})
}

// TestScripts runs the scripts of testdata/script: each calls the command as a
// user does and compares whole outputs.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status,
			"sparse": sparse,
			"fifo":   fifo,
			"busy":   busy,
			"serve":  interrupted,
		},
	})
}

// status runs a command and demands its exit code: status CODE COMMAND [ARG…].
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status CODE COMMAND [ARG…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var e *exec.ExitError
		if !errors.As(err, &e) {
			ts.Fatalf("%v", err)
		}
		got = e.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, not %d", got, want)
	}
}

// sparse makes a file of a size without writing its bytes: sparse FILE BYTES.
func sparse(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Check(f.Truncate(n))
	ts.Check(f.Close())
}

// fifo makes a pipe that nobody writes to: fifo FILE.
func fifo(ts *testscript.TestScript, _ bool, args []string) {
	ts.Check(syscall.Mkfifo(ts.MkAbs(args[0]), 0o600))
}
