package page

import (
	"net/http"
	"strings"
	"time"

	"pitman/registry"
)

// showPair asks for a code. One that was scanned stands behind the # of the address, which no browser sends;
// the script puts it into the form.
func (s *Server) showPair(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, http.StatusOK, "pair.html", "Pair this phone", pairing{})
}

// welcome leads a browser to its first page: the one that pairs it, where nobody did. What stands behind the
// # of the address goes along.
func (s *Server) welcome(w http.ResponseWriter, r *http.Request) {
	to := "/pair"
	if c, err := r.Cookie(cookieName); err == nil {
		if p, err := s.Phones.Who(c.Value); err == nil && p != nil {
			to = "/"
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

type pairing struct{ By, Refused string }

// pair uses a code up and gives the phone its secret.
func (s *Server) pair(w http.ResponseWriter, r *http.Request) {
	if !s.guesses.allow(address(r)) {
		w.Header().Set("Retry-After", "60")
		s.refuse(w, r, http.StatusTooManyRequests,
			"Too many codes were tried from here: wait a minute, and have a new one shown.")
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, 4<<10)
	if err := r.ParseForm(); err != nil {
		s.fail(w, r, registry.Errorf(registry.Invalid, "the code did not arrive whole: send it again"))
		return
	}
	var by registry.Initials
	var err error
	typed := strings.TrimSpace(r.PostForm.Get("by"))
	if typed != "" {
		by, err = registry.ParseInitials(typed)
	}
	if err != nil {
		s.show(w, r, http.StatusBadRequest, "pair.html", "Pair this phone", pairing{typed, sentence(err)})
		return
	}
	p, secret, err := s.Phones.Pair(r.PostForm.Get("code"), by)
	switch registry.CodeOf(err) {
	case registry.Invalid, registry.Conflict:
		status := http.StatusForbidden
		s.show(w, r, status, "pair.html", "Pair this phone", pairing{typed, sentence(err)})
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Journal.Printf("paired phone %s with %s", p.ID, p.By)
	s.setCookie(w, secret, p.Expires)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (s *Server) setCookie(w http.ResponseWriter, secret string, expires time.Time) {
	http.SetCookie(w,
		&http.Cookie{Name: cookieName, Value: secret, Path: "/", Expires: expires, HttpOnly: true,
			Secure: s.Secure,
			// Lax, since a scanned label is a visit from elsewhere; it sends no cookie with a form from
			// elsewhere, and a GET never acts.
			SameSite: http.SameSiteLaxMode})
}

// unpair ends the pairing of this phone, for whoever hands it on.
func (s *Server) unpair(v *visit) error {
	if err := s.Phones.Remove(v.phone.ID); err != nil {
		return err
	}
	s.Journal.Printf("phone %s of %s unpaired itself", v.phone.ID, v.by)
	s.setCookie(v.w, "", time.Unix(1, 0))
	http.Redirect(v.w, v.Request, "/pair", http.StatusSeeOther)
	return nil
}
