package archive

import (
	"errors"
	"os"
	"syscall"
	"unsafe"
)

var lockFileEx = syscall.NewLazyDLL("kernel32.dll").NewProc("LockFileEx")

// lock takes the lock of an open file, which ends with the file or the program,
// however that ends. busy is true where another has it. Locks bind readers
// there, so it is that of a byte far behind the file's end.
func lock(f *os.File) (busy bool, err error) {
	const failImmediately, exclusive, violation = 1, 2, syscall.Errno(33)
	at := &syscall.Overlapped{OffsetHigh: 1 << 30}
	if ok, _, err := lockFileEx.Call(f.Fd(), exclusive|failImmediately, 0, 1, 0, uintptr(unsafe.Pointer(at))); ok == 0 {
		return errors.Is(err, violation), err
	}
	return false, nil
}
