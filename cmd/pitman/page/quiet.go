package page

import (
	"io"
	"log"
)

// quiet drops what the server would write of handshakes that phones break off, which a self-made certificate
// brings about each time.
func quiet() *log.Logger { return log.New(io.Discard, "", 0) }
