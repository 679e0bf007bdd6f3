package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// forge FROM TO OLD NEW... writes a bundle with words replaced and its sum made right again, as whoever meant
// harm would.
func forge(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) < 4 || len(args)%2 != 0 {
		ts.Fatalf("usage: forge FROM TO OLD NEW...")
	}
	from, err := os.Open(ts.MkAbs(args[0]))
	ts.Check(err)
	defer from.Close()
	zipped, err := gzip.NewReader(from)
	ts.Check(err)
	text, err := io.ReadAll(zipped)
	ts.Check(err)
	text = text[:bytes.LastIndex(bytes.TrimSpace(text), []byte("\n"))+1] // without the sum
	for i := 2; i < len(args); i += 2 {
		if !strings.Contains(string(text), args[i]) {
			ts.Fatalf("%s is not in the bundle:\n%s", args[i], text)
		}
	}
	text = []byte(strings.NewReplacer(args[2:]...).Replace(string(text)))
	sum := sha256.Sum256(text)
	var out bytes.Buffer
	zip := gzip.NewWriter(&out)
	_, err = zip.Write(append(text, `{"sha256":"`+hex.EncodeToString(sum[:])+"\"}\n"...))
	ts.Check(err)
	ts.Check(zip.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), out.Bytes(), 0o600))
}
