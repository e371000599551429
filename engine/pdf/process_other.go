//go:build !unix

package pdf

import "os/exec"

// alone does nothing: ending the browser ends what it started.
func alone(*exec.Cmd) {}

func endAll(*exec.Cmd) {}
