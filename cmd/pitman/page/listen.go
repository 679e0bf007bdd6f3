package page

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"sync"
	"time"
)

// Bounds of a connection. A phone far from the access point sends a picture in a minute.
const (
	headWithin  = 5 * time.Second
	readWithin  = 2 * time.Minute
	writeWithin = time.Minute
	idleFor     = 75 * time.Second
	endWithin   = 10 * time.Second
	maxHead     = 16 << 10
	maxWaiting  = 256 // connections that have not asked for anything yet
)

// Serve answers on a listener until ctx ends, and then lets what has begun come to its end. With a
// certificate it speaks TLS.
func (s *Server) Serve(ctx context.Context, l net.Listener, cert *tls.Certificate) error {
	handler, err := s.Handler()
	if err != nil {
		return err
	}
	waiting := &waiting{since: map[net.Conn]int64{}}
	server := &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: headWithin,
		ReadTimeout:       readWithin,
		WriteTimeout:      readWithin + writeWithin,
		IdleTimeout:       idleFor,
		MaxHeaderBytes:    maxHead,
		ErrorLog:          quiet(),
		ConnState:         waiting.note,
	}
	if cert != nil {
		l = tls.NewListener(l,
			&tls.Config{Certificates: []tls.Certificate{*cert}, MinVersion: tls.VersionTLS12,
				NextProtos: []string{"http/1.1"}})
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, stop := context.WithTimeout(context.WithoutCancel(ctx), endWithin)
	defer stop()
	err = server.Shutdown(last)
	if errors.Is(err, context.DeadlineExceeded) {
		err = server.Close()
	}
	<-ended
	return err
}

// waiting knows the connections that have asked for nothing yet. Whoever opens thousands of them and sends
// nothing loses the oldest, so a phone that comes late is answered all the same.
type waiting struct {
	mu    sync.Mutex
	since map[net.Conn]int64
	count int64
}

func (q *waiting) note(c net.Conn, state http.ConnState) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if state != http.StateNew {
		delete(q.since, c)
		return
	}
	q.count++
	q.since[c] = q.count
	if len(q.since) <= maxWaiting {
		return
	}
	oldest := c
	for other, at := range q.since {
		if at < q.since[oldest] {
			oldest = other
		}
	}
	delete(q.since, oldest)
	oldest.Close()
}
