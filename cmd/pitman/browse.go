package main

import (
	"fmt"
	"net"
	"net/url"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"pitman/registry/phone"
)

// browse opens this computer's browser at the pages, with a code that pairs it where nobody did yet.
func (a *app) browse(phones phone.Store, at string) error {
	code, _, err := phones.NewCode("")
	if err != nil {
		return err
	}
	words := browserCommand(runtime.GOOS, at+"/welcome#"+code)
	if err := exec.Command(words[0], words[1:]...).Start(); err != nil {
		fmt.Fprintf(a.err, "No browser could be opened (%v). Open one at %s and type  %s\n", err, at+"/pair",
			code)
		return nil
	}
	fmt.Fprintf(a.err, "A browser opens at %s\n", at)
	return nil
}

// browserCommand opens an address in the browser that the person has chosen.
func browserCommand(system, address string) []string {
	switch system {
	case "windows":
		return []string{"rundll32", "url.dll,FileProtocolHandler", address}
	case "darwin":
		return []string{"open", address}
	}
	return []string{"xdg-open", address}
}

// answers says whether pages are served at an address; the note of one stays where its program was killed.
func answers(at string) bool {
	u, err := url.Parse(at)
	if at == "" || err != nil {
		return false
	}
	c, err := net.DialTimeout("tcp", strings.ToLower(u.Host), time.Second)
	if err != nil {
		return false
	}
	c.Close()
	return true
}
