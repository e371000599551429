package main

import (
	"bufio"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// busy takes a port for the length of the script: busy VARIABLE.
func busy(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: busy VARIABLE")
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ts.Check(err)
	ts.Defer(func() { l.Close() })
	ts.Setenv(args[0], strconv.Itoa(l.Addr().(*net.TCPAddr).Port))
}

// interrupted runs a command that serves pages, opens the address that it
// prints, interrupts it and demands that it ends well: serve COMMAND [ARG…].
func interrupted(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: serve COMMAND [ARG…]")
	}
	path, err := exec.LookPath(args[0])
	ts.Check(err)
	cmd := exec.Command(path, args[1:]...)
	cmd.Dir = ts.MkAbs(".")
	cmd.Env = append(os.Environ(), "PATH="+ts.Getenv("PATH"))
	cmd.Stderr = ts.Stderr()
	pipe, err := cmd.StdoutPipe()
	ts.Check(err)
	ts.Check(cmd.Start())
	out := bufio.NewReader(pipe)
	address, err := out.ReadString('\n')
	ts.Check(err)
	_, err = io.WriteString(ts.Stdout(), address)
	ts.Check(err)
	res, err := http.Get(address[:len(address)-1])
	if err == nil {
		res.Body.Close()
	}
	ts.Check(cmd.Process.Signal(os.Interrupt))
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	select {
	case e := <-ended:
		ts.Check(e)
	case <-time.After(30 * time.Second):
		_ = cmd.Process.Kill()
		ts.Fatalf("it does not end")
	}
	ts.Check(err)
}
