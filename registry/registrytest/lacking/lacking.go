// Package lacking says what becomes of a test that lacks something of the computer it runs on.
//
// What can be installed is installed by .ci/run, which sets CI=true: there its lack is a failure, and where
// people work the test is left out. What the computer has to grant, such as to mount a disk or to watch
// another program, nobody can install, and many containers grant it to no one; so such a test is left out
// anywhere, and says why.
package lacking

import (
	"os"
	"os/exec"
	"testing"
)

// Program asks for a program by its name, and names the package that has it.
func Program(t testing.TB, name, from string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		Installed(t, name, from)
	}
}

// Installed ends a test for want of something that can be installed.
func Installed(t testing.TB, what, from string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not here, and CI=true says that all is installed that a test needs: install %s", what,
			from)
	}
	t.Skipf("%s is not here: this test runs where %s is installed", what, from)
}

// Granted ends a test for want of a right; err is how the computer refused it, nil where it did not.
func Granted(t testing.TB, err error, what string) {
	t.Helper()
	if err != nil {
		t.Skipf("%s is not granted here (%v), as in many containers; nothing that could be installed "+
			"changes that", what, err)
	}
}
