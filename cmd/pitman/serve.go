package main

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/skip2/go-qrcode"
	"github.com/spf13/cobra"

	"pitman/cmd/pitman/page"
	"pitman/registry"
	"pitman/registry/examples"
	"pitman/registry/phone"
	"pitman/registry/photo"
	"pitman/registry/whole"
)

// serving is what was asked of pitman serve.
type serving struct {
	listen    string
	lan       bool
	tls       bool
	cert, key string
	names     []string
	onceCode  bool
	browse    bool
	pair      []string
}

const servePort = "8421"

func (a *app) serveCommand() *cobra.Command {
	var q serving
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Show pages to phones: scan a label and work beside the machine",
		Long: `Answers phones and screens in the workshop until you press Ctrl-C: scan a label, and
that machine opens with what may be done next. Nothing leaves the house: no cloud, no account,
nothing loaded from elsewhere.

Without more, only this computer is answered. With --lan every phone on the workshop's network may
ask, by TLS, and gets an answer once it is paired: by a code that is shown here (--pair) or by
pitman phones pair, for one person and one phone. Pairing says whose phone it is; it is no
authority.

--browse opens the pages in this computer's own browser, with a code that pairs it once.`,
		Example: `  pitman serve
  pitman serve --lan --pair QX`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error { return a.serve(cmd.Context(), d, q) })
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&q.listen, "listen", "", "`ADDRESS:PORT` to listen at (127.0.0.1:"+servePort+
		" unless said; port 0 takes a free one)")
	flags.BoolVar(&q.lan, "lan", false, "answer other computers and phones on the network, too, by TLS")
	flags.BoolVar(&q.tls, "tls", false, "speak TLS to this computer, too")
	flags.StringVar(&q.cert, "cert", "",
		"`FILE` with a certificate of your own (PEM), instead of one that is made here")
	flags.StringVar(&q.key, "key", "", "`FILE` with its key (PEM)")
	flags.StringArrayVar(&q.names, "name", nil,
		"another `NAME` by which phones find this computer (repeatable)")
	flags.StringArrayVar(&q.pair, "pair", nil,
		"show a code that pairs one phone with these `INITIALS` (repeatable)")
	flags.BoolVar(&q.browse, "browse", false,
		"open this computer's browser at the pages; where they are served already, do only that")
	flags.BoolVar(&q.onceCode, "once-code", false,
		"print one line of JSON with the address and a code that names nobody, for programs")
	cmd.MarkFlagsRequiredTogether("cert", "key")
	return cmd
}

func (a *app) serve(ctx context.Context, d *workplace, q serving) error {
	if err := soundToStart(ctx, d); err != nil {
		return err
	}
	people := make([]registry.Initials, len(q.pair))
	for i, typed := range q.pair {
		var err error
		if people[i], err = registry.ParseInitials(typed); err != nil {
			return err
		}
	}
	if err := q.check(); err != nil {
		return err
	}
	phones := phone.In(d.house.Dir, a.now)
	served := servedAt(phones.Dir)
	if q.browse && served != "" {
		return a.browse(phones, served)
	}
	scheme, err := schemeOf(d.Config)
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", q.listen)
	if err != nil {
		return registry.Errorf(registry.Conflict,
			"%s cannot be listened at (%v): another program may have that port; name another with "+
				"--listen, such as 127.0.0.1:0", q.listen, err)
	}
	defer l.Close()
	names := q.hosts(l, scheme.BaseURL)
	var cert *tls.Certificate
	if q.tls {
		if q.cert != "" {
			cert, err = page.OwnCertificate(q.cert, q.key)
		} else {
			cert, err = page.SelfMade(phones.Dir, names, a.now())
		}
		if err != nil {
			return err
		}
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	at := address(names[0], port, q.tls)
	s := &page.Server{Workshop: d.Workshop, Phones: phones, Photos: photo.In(d.house.Dir),
		Examples: examples.In(d.house.Dir, &d.Lists.Bench, &d.Lists.Stock), Scheme: scheme,
		Journal: log.New(a.err, "", log.LstdFlags),
		API:     a.api(d), Hosts: withPorts(names, port, q.tls), Secure: q.tls}
	shown := filepath.Join(phones.Dir, servingFile)
	if served == "" { // who serves already is found already
		if err := noteServing(phones.Dir, shown, at); err != nil {
			return err
		}
		defer os.Remove(shown)
	}
	if err := a.sayServing(at, cert, q, phones, people); err != nil {
		return err
	}
	if q.browse { // the port is open: the browser waits there until it is answered
		if err := a.browse(phones, at); err != nil {
			return err
		}
	}
	return s.Serve(ctx, l, cert)
}

// check settles where to listen, and refuses to be open to others by accident.
func (q *serving) check() error {
	if q.listen == "" {
		q.listen = "127.0.0.1:" + servePort
		if q.lan {
			q.listen = ":" + servePort
		}
	}
	host, _, err := net.SplitHostPort(q.listen)
	if err != nil {
		return registry.Errorf(registry.Invalid,
			"listen %q is no address with a port: type one such as 127.0.0.1:%s", q.listen, servePort)
	}
	here := host == "localhost"
	if ip := net.ParseIP(host); ip != nil {
		here = ip.IsLoopback()
	}
	switch {
	case !here && !q.lan:
		return registry.Errorf(registry.Invalid,
			"listen %q lets other computers ask, which is off until you say so: add --lan, or listen at "+
				"127.0.0.1", q.listen)
	case here && q.lan:
		return registry.Errorf(registry.Invalid,
			"listen %q is this computer alone, so phones would find nothing: leave --lan or --listen out",
			q.listen)
	}
	q.tls = q.tls || !here || q.cert != ""
	return nil
}

// hosts are the names and addresses by which this computer may be asked, the one that is shown to people
// first.
func (q *serving) hosts(l net.Listener, baseURL string) []string {
	var names []string
	if u, err := url.Parse(strings.ToLower(baseURL)); err == nil && u.Hostname() != "" && q.lan {
		names = append(names, u.Hostname())
	}
	names = append(names, q.names...)
	at := l.Addr().(*net.TCPAddr).IP
	if at.IsUnspecified() {
		if all, err := net.InterfaceAddrs(); err == nil {
			for _, one := range all {
				if ip, ok := one.(*net.IPNet); ok && !ip.IP.IsLoopback() && !ip.IP.IsLinkLocalUnicast() {
					names = append(names, ip.IP.String())
				}
			}
		}
		if name, err := os.Hostname(); err == nil && name != "" {
			names = append(names, name, strings.TrimSuffix(name, ".local")+".local")
		}
	} else {
		names = append(names, at.String())
	}
	names = append(names, "127.0.0.1", "localhost", "::1")
	for i := range names {
		names[i] = strings.ToLower(names[i])
	}
	var once []string
	for _, name := range names {
		if !slices.Contains(once, name) {
			once = append(once, name)
		}
	}
	return once
}

func withPorts(names []string, port string, secure bool) []string {
	var hosts []string
	for _, name := range names {
		hosts = append(hosts, net.JoinHostPort(name, port))
		if secure && port == "443" || !secure && port == "80" {
			hosts = append(hosts, strings.TrimSuffix(net.JoinHostPort(name, ""), ":"))
		}
	}
	return hosts
}

func address(name, port string, secure bool) string {
	if secure {
		return "https://" + net.JoinHostPort(name, port)
	}
	return "http://" + net.JoinHostPort(name, port)
}

// servingFile says, beside the phones, where phones are answered now, for whoever shows a code in another
// window.
const servingFile = "serving.json"

func noteServing(folder, file, at string) error {
	if err := os.Mkdir(folder, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	text, err := json.Marshal(map[string]string{"url": at})
	if err != nil {
		return err
	}
	return whole.Write(file, text, 0o600)
}

// servedAt is where phones are answered now, as somebody who asks there finds out: a program that was killed
// leaves its note behind. "" is nowhere.
func servedAt(folder string) string {
	var at struct {
		URL string `json:"url"`
	}
	text, err := os.ReadFile(filepath.Join(folder, servingFile))
	if err != nil || json.Unmarshal(text, &at) != nil {
		return ""
	}
	if !answers(at.URL) {
		return ""
	}
	return at.URL
}

// sayServing tells where phones find the pages, and what the browser will say of the certificate.
func (a *app) sayServing(at string, cert *tls.Certificate, q serving, phones phone.Store,
	people []registry.Initials) error {
	if q.onceCode {
		code, _, err := phones.NewCode("")
		if err != nil {
			return err
		}
		line, err := json.Marshal(struct {
			URL  string `json:"url"`
			Code string `json:"code"`
		}{at, code})
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(a.out, "%s\n", line)
		return err
	}
	result := struct {
		URL         string       `json:"url"`
		Fingerprint string       `json:"fingerprint,omitempty"`
		Codes       []pairedCode `json:"codes"`
	}{URL: at, Codes: []pairedCode{}}
	if cert != nil {
		result.Fingerprint = page.Fingerprint(cert)
	}
	for _, by := range people {
		c, err := newPairedCode(phones, by, at)
		if err != nil {
			return err
		}
		result.Codes = append(result.Codes, c)
	}
	return a.print(result, func(w io.Writer) {
		fmt.Fprintf(w, "Pages for phones: %s\n", at)
		if cert != nil && q.cert == "" {
			fmt.Fprintf(w, `
What is sent is encrypted, with a certificate that this computer made itself. No authority vouches
for it, so a phone warns once that it does not know this computer. Go on only if the fingerprint
that the phone shows is this one:
  %s
If it is another one, someone stands between the phone and this computer: do not go on.
`, result.Fingerprint)
		}
		if !q.lan {
			fmt.Fprintln(w, "Only this computer is answered. For phones: pitman serve --lan")
		}
		for _, c := range result.Codes {
			fmt.Fprintln(w)
			c.tell(w)
		}
		if len(result.Codes) == 0 {
			fmt.Fprintln(w, "Pair a phone: pitman phones pair INITIALS, in another window. Ctrl-C ends this.")
		}
	})
}

// pairedCode is a code with the symbol that takes a phone there.
type pairedCode struct {
	By      registry.Initials `json:"by"`
	Code    string            `json:"code"`
	Expires string            `json:"expires_at"`
	URL     string            `json:"url"` // with the code behind the #, which no browser sends
}

func newPairedCode(phones phone.Store, by registry.Initials, at string) (pairedCode, error) {
	code, expires, err := phones.NewCode(by)
	return pairedCode{by, code, expires.Format("2006-01-02T15:04:05Z"), at + "/pair#" + code}, err
}

// pairWith makes a code for a phone of somebody, if there are pages for it to find.
func pairWith(s phone.Store, by registry.Initials) (pairedCode, error) {
	at := servedAt(s.Dir)
	if at == "" {
		return pairedCode{},
			registry.Errorf(registry.Conflict, "no pages are served now, so a phone would find "+
				"nothing: start pitman serve --lan first, in another window")
	}
	return newPairedCode(s, by, at)
}

// page is the address at which the code can be typed.
func (c pairedCode) page() string { return strings.TrimSuffix(c.URL, "#"+c.Code) }

// quiet is the light border of a symbol on a screen, in modules. ISO/IEC 18004 asks for four; two are what a
// window of 24 lines has room for.
const quiet = 2

// rows draws the symbol in half blocks, dark on light, to be shown black on white.
func (c pairedCode) rows() (rows []string) {
	symbol, err := qrcode.New(c.URL, qrcode.Low)
	if err != nil {
		return nil // the code can be typed
	}
	symbol.DisableBorder = true
	bits := symbol.Bitmap()
	dark := func(x, y int) bool {
		return x >= 0 && y >= 0 && y < len(bits) && x < len(bits) && bits[y][x]
	}
	for y := -quiet; y < len(bits)+quiet; y += 2 {
		row := ""
		for x := -quiet; x < len(bits)+quiet; x++ {
			row += map[[2]bool]string{{true, true}: "█", {true, false}: "▀", {false, true}: "▄",
				{false, false}: " "}[[2]bool{dark(x, y), dark(x, y+1)}]
		}
		rows = append(rows, row)
	}
	return rows
}

// here says that only this computer gets there, and no phone.
func (c pairedCode) here() bool {
	where, err := url.Parse(c.URL)
	if err != nil {
		return false
	}
	ip := net.ParseIP(where.Hostname())
	return where.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
}

func (c pairedCode) tell(w io.Writer) {
	if c.here() {
		fmt.Fprintf(w,
			"Only this computer is answered now, and no phone: for phones, pitman serve --lan. In a "+
				"browser here, within ten minutes, open %s and type  %s\n", c.page(), c.Code)
		return
	}
	fmt.Fprintf(w, "Scan this with the phone of %s, within ten minutes; it works once.\n", c.By)
	if symbol, err := qrcode.New(c.URL, qrcode.Medium); err == nil {
		fmt.Fprint(w, symbol.ToSmallString(false))
	}
	fmt.Fprintf(w, "Or open %s and type  %s\n", c.page(), c.Code)
}
