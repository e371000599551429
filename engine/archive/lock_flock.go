//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package archive

import (
	"errors"
	"os"
	"syscall"
)

// lock takes the lock of an open file, which ends with the file or the program,
// however that ends. busy is true where another has it.
func lock(f *os.File) (busy bool, err error) {
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	return errors.Is(err, syscall.EWOULDBLOCK), err
}
