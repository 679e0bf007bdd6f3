//go:build !windows && (!unix || aix || solaris)

package main

import "os"

// unseen is not known here: what is typed while a PIN is tried is shown.
func unseen(*os.File) (end func()) { return func() {} }
