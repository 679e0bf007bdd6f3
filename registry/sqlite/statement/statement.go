// Package statement keeps what SQLite has compiled from one transaction to the next. To compile a text takes
// longer than most of them run, and people's actions run the same few texts again and again.
package statement

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
)

// How many connections wait for the next transaction, and how many compiled texts with each: more than a
// desk uses in a day, and a few megabytes. An import may need more meanwhile.
const (
	maxConns = 2
	maxTexts = 250
)

// Pool lends the connections to a file, each with what was compiled on it. It is safe for use by several
// goroutines.
type Pool struct {
	of *sql.DB

	mu     sync.Mutex
	free   []*Conn
	closed bool
}

// NewPool makes one that has its connections from there.
func NewPool(of *sql.DB) *Pool { return &Pool{of: of} }

// With lends a connection to fn, which leaves no transaction open on it.
func (p *Pool) With(ctx context.Context, fn func(*Conn) error) error {
	c, err := p.lend(ctx)
	if err != nil {
		return err
	}
	defer p.takeBack(c)
	return fn(c)
}

// Row reads a row that is there, beside any transaction.
func (p *Pool) Row(ctx context.Context, text string, args []any, into ...any) error {
	return p.With(ctx, func(c *Conn) error {
		s, err := c.Prepare(ctx, text)
		if err != nil {
			return err
		}
		return s.QueryRowContext(ctx, args...).Scan(into...)
	})
}

func (p *Pool) lend(ctx context.Context) (*Conn, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if c := p.waiting(); c != nil {
		return c, nil
	}
	made, err := p.of.Conn(ctx)
	if err != nil {
		return nil, err
	}
	return On(made), nil
}

// waiting is the connection that was used last: its pages are still in memory.
func (p *Pool) waiting() *Conn {
	p.mu.Lock()
	defer p.mu.Unlock()
	last := len(p.free) - 1
	if last < 0 {
		return nil
	}
	c := p.free[last]
	p.free = p.free[:last]
	return c
}

func (p *Pool) takeBack(c *Conn) {
	if c.rest() != nil || !p.keeps(c) {
		_ = c.Forget()
		_ = c.Close()
	}
}

func (p *Pool) keeps(c *Conn) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed || len(p.free) == maxConns {
		return false
	}
	p.free = append(p.free, c)
	return true
}

// Close closes the connections that wait, and whichever comes back from now on.
func (p *Pool) Close() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.closed = true
	var failed error
	for _, c := range p.free {
		failed = errors.Join(failed, c.Forget(), c.Close())
	}
	p.free = nil
	return failed
}

// Conn is a connection with what was compiled on it. One goroutine at a time uses it.
type Conn struct {
	*sql.Conn
	// Running a statement again begins its rows anew, so one whose rows are still being read is left alone:
	// whoever asks the same meanwhile gets a statement of their own.
	texts map[string]*Statement
	asked int64
}

// On begins to keep what is compiled on a connection.
func On(c *sql.Conn) *Conn { return &Conn{Conn: c, texts: map[string]*Statement{}} }

// Statement is a compiled text.
type Statement struct {
	*sql.Stmt
	text  string
	rows  *sql.Rows // that are being read
	asked int64     // when it was last, in the order in which all were
}

// Prepare compiles a text, or finds it compiled.
func (c *Conn) Prepare(ctx context.Context, text string) (*Statement, error) {
	c.asked++
	key := text
	for {
		s, ok := c.texts[key]
		if !ok {
			break
		}
		if s.rows == nil {
			s.asked = c.asked
			return s, nil
		}
		key += " " // SQLite reads the same in it
	}
	made, err := c.PrepareContext(ctx, key)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", text, err)
	}
	s := &Statement{Stmt: made, text: key, asked: c.asked}
	c.texts[key] = s
	return s, nil
}

// Plans are the steps in which SQLite goes through each text that is compiled.
func (c *Conn) Plans(ctx context.Context) (map[string][]string, error) {
	plans := map[string][]string{}
	for text := range c.texts {
		steps, err := c.plan(ctx, text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", text, err)
		}
		plans[text] = steps
	}
	return plans, nil
}

func (c *Conn) plan(ctx context.Context, text string) (steps []string, err error) {
	rows, err := c.QueryContext(ctx, "EXPLAIN QUERY PLAN "+text, make([]any, strings.Count(text, "?"))...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var id, parent, unused int
		var step string
		if err := rows.Scan(&id, &parent, &unused, &step); err != nil {
			return nil, err
		}
		steps = append(steps, step)
	}
	return steps, rows.Err()
}

// Forget drops all that was compiled.
func (c *Conn) Forget() error {
	var failed error
	for _, s := range c.texts {
		failed = errors.Join(failed, s.Close())
	}
	clear(c.texts)
	return failed
}

// rest ends all reading, since the next transaction would else see what this one saw, and drops the texts
// that were asked for longest ago where there are too many.
func (c *Conn) rest() error {
	var failed error
	var all []*Statement
	for _, s := range c.texts {
		if s.rows != nil {
			failed = errors.Join(failed, s.rows.Close())
			s.rows = nil
		}
		all = append(all, s)
	}
	if len(all) <= maxTexts {
		return failed
	}
	slices.SortFunc(all, func(a, b *Statement) int { return cmp.Compare(b.asked, a.asked) })
	for _, s := range all[maxTexts/2:] { // many, or each transaction would sort them all
		failed = errors.Join(failed, s.Close())
		delete(c.texts, s.text)
	}
	return failed
}

// Rows are those of a statement that is free again once they are closed.
type Rows struct {
	*sql.Rows
	of *Statement
}

// Query runs the statement.
func (s *Statement) Query(ctx context.Context, args ...any) (*Rows, error) {
	found, err := s.QueryContext(ctx, args...)
	if err != nil {
		return nil, err
	}
	s.rows = found
	return &Rows{found, s}, nil
}

// Close ends the reading.
func (r *Rows) Close() error {
	if r.of.rows == r.Rows {
		r.of.rows = nil
	}
	return r.Rows.Close()
}
