// Package chromium finds an installed Chromium, or a browser made of it, and
// knows how it is called so that it works alone and asks for nothing.
package chromium

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// Variable is the environment variable that names the program to use.
const Variable = "TAUT_CHROMIUM"

// commands are what the program is called where it is installed.
var commands = []string{"chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "microsoft-edge-stable", "microsoft-edge", "chrome", "msedge"}

// ErrNone is returned where no Chromium is installed, as far as can be seen.
var ErrNone = errors.New("no Chromium was found: install one, or name its program in the environment variable " + Variable)

// Find returns the path of the program: the one that the environment variable
// names, else the first that is installed.
func Find() (string, error) {
	if named := os.Getenv(Variable); named != "" {
		path, err := exec.LookPath(named)
		if err != nil {
			return "", fmt.Errorf("%s names `%s`, and that is no program that can be run", Variable, named)
		}
		return path, nil
	}
	for _, c := range commands {
		if path, err := exec.LookPath(c); err == nil {
			return path, nil
		}
	}
	for _, path := range places() {
		if _, err := exec.LookPath(path); err == nil {
			return path, nil
		}
	}
	return "", ErrNone
}

// places are paths at which it is installed on systems on which programs with
// windows are no commands.
func places() []string {
	switch runtime.GOOS {
	case "darwin":
		var out []string
		for _, name := range []string{"Chromium", "Google Chrome", "Microsoft Edge"} {
			out = append(out, "/Applications/"+name+".app/Contents/MacOS/"+name)
		}
		return out
	case "windows":
		var out []string
		for _, v := range []string{"ProgramFiles", "ProgramFiles(x86)", "LocalAppData"} {
			for _, inside := range []string{`Chromium\Application\chrome.exe`, `Google\Chrome\Application\chrome.exe`, `Microsoft\Edge\Application\msedge.exe`} {
				if dir := os.Getenv(v); dir != "" {
					out = append(out, filepath.Join(dir, inside))
				}
			}
		}
		return out
	}
	return nil
}

// Flag is an option of the program; Value is "" for those that take none.
type Flag struct{ Name, Value string }

// String is the option as it is typed.
func (f Flag) String() string {
	if f.Value == "" {
		return "--" + f.Name
	}
	return "--" + f.Name + "=" + f.Value
}

// Flags make it work without a window, with no word to anybody but this
// machine and without asking anything. It refuses to lock itself in where the
// administrator runs it; only then it is not asked to.
func Flags() []Flag {
	list := []Flag{{Name: "headless"}}
	for _, name := range strings.Fields(`disable-gpu disable-quic no-first-run no-default-browser-check disable-background-networking
		disable-component-update disable-default-apps disable-domain-reliability disable-extensions disable-sync disable-dev-shm-usage
		disable-breakpad metrics-recording-only no-pings mute-audio`) {
		list = append(list, Flag{Name: name})
	}
	list = append(list, Flag{"host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1"}, Flag{"password-store", "basic"})
	if os.Geteuid() == 0 {
		list = append(list, Flag{Name: "no-sandbox"})
	}
	return list
}
