//go:build unix

package pdf

import (
	"os/exec"
	"syscall"
)

// alone puts a program into a group of its own, so that it can be ended with
// all that it started.
func alone(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGTERM) }
}

// endAll ends what is left of the group.
func endAll(cmd *exec.Cmd) {
	if cmd.Process != nil {
		_ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL)
	}
}
