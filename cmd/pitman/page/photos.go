package page

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"pitman/registry"
	"pitman/registry/examples"
	"pitman/registry/photo"
	"pitman/registry/pictures"
)

var photoSays = map[string]string{"whole": "The whole machine", "plate": "Its number plate",
	"decal": "A decal", "fault": "A fault"}

func photoFields() []field {
	shows := field{Name: "shows", Label: "What does it show?", Kind: "pick", Value: pictures.Shows[0]}
	for _, s := range pictures.Shows {
		shows.Picks = append(shows.Picks, pick{s, photoSays[s]})
	}
	return []field{{Name: "photo", Label: "Picture", Kind: "file",
		Hint: "JPEG, PNG or WebP. Where it was taken is not kept. No faces, please."}, shows}
}

// photoForm adds a picture to a head or base.
func (s *Server) photoForm(tag registry.Tag) *form {
	return &form{Title: fmt.Sprintf("%s: add a picture", tag), Button: "Add it", Pictures: true,
		Fields: photoFields(),
		do: func(v *visit, a answers) (done, error) {
			added, err := s.addPhoto(v, tag, a.get("shows"))
			if err == nil && !added {
				err = registry.Errorf(registry.Invalid, "the picture is missing: choose one, or take one")
			}
			return done{said: "The picture is added."}, err
		}}
}

// addPhoto keeps the picture that came with a form, if one did.
func (s *Server) addPhoto(v *visit, tag registry.Tag, shows string) (added bool, err error) {
	f, err := v.pictureIn("photo")
	if err != nil || f == nil {
		return false, err
	}
	defer f.Close()
	taken, err := photo.Take(v.ctx(), f)
	if err != nil {
		return false, err
	}
	_, err = s.KeepPhoto(v.ctx(), v.by, s.Photos, taken, tag, shows)
	return true, err
}

// removePhotoForm puts a picture aside, or takes it out of the house for good.
func (s *Server) removePhotoForm(v *visit, tag registry.Tag) (*form, error) {
	photos, err := s.Workshop.Photos(v.ctx(), tag)
	if err != nil {
		return nil, err
	}
	f := &form{Title: fmt.Sprintf("%s: remove a picture", tag), Button: "Remove it"}
	which := field{Name: "which", Label: "Which?", Kind: "pick"}
	for _, p := range photos {
		which.Picks = append(which.Picks,
			pick{p.Name, fmt.Sprintf("%s, %s by %s", photoSays[p.Shows], s.localTime(p.At), p.By)})
	}
	f.Fields = []field{which,
		{Name: "for-good", Kind: "check", Maybe: true, Label: "Take it out of the house for good",
			Hint: "For what should not be kept: a face, a child, an address. Nothing brings it back; " +
				"backups made before still hold it."}}
	f.do = func(v *visit, a answers) (done, error) {
		_, err := s.RemovePhoto(v.ctx(), v.by, tag, a.get("which"), a.get("for-good") == "yes",
			s.Photos.Remove)
		return done{said: "The picture is removed."}, err
	}
	return f, nil
}

// photo gives the bytes of a stored picture, which never change under its name.
func (s *Server) photo(v *visit) error {
	name, _ := photo.NameOfFile(v.PathValue("file"))
	if err := s.ShownPhoto(v.ctx(), name); err != nil {
		return err
	}
	stored, err := s.Photos.Read(name)
	if err != nil {
		return err
	}
	giveJPEG(v.w, stored, "private, max-age=86400, immutable")
	return nil
}

// example gives the bytes of a picture that stands beside what is asked. It may be another one tomorrow.
func (s *Server) example(v *visit) error {
	stored, err := s.Examples.Read(v.PathValue("file"))
	if err != nil {
		return err
	}
	giveJPEG(v.w, stored, "private, no-cache")
	return nil
}

// giveJPEG sends the bytes of a picture.
func giveJPEG(w http.ResponseWriter, stored []byte, kept string) {
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Disposition", "inline")
	h.Set("Cache-Control", kept)
	h.Set("Content-Length", fmt.Sprint(len(stored)))
	w.WriteHeader(http.StatusOK)
	_, _ = w.Write(stored) // a phone that hangs up is no fault
}

// exampleSays is what a picture beside something is looked at for.
var exampleSays = map[string]string{examples.Point: "%s, when it is right",
	examples.Job: "%s: how it is done",
	examples.Bed: "%s: where it is measured"}

// beside is the house's own picture beside something, if there is one.
func (s *Server) beside(of, name string) []picture {
	x, ok := s.Examples.Of(of, name)
	if !ok {
		return nil
	}
	return []picture{exampleShown(x, name)}
}

func exampleShown(x examples.Example, name string) picture {
	return picture{"/examples/" + url.PathEscape(x.File), fmt.Sprintf(exampleSays[x.Of], name)}
}

// bedsShown are the pictures of all bed patterns, by which one can be told.
func (s *Server) bedsShown() (shown []picture, err error) {
	all, err := s.Examples.List()
	for _, x := range all {
		if x.Of == examples.Bed {
			shown = append(shown, exampleShown(x, x.Name))
		}
	}
	return shown, err
}

// story shows what the house tells of a machine to anybody.
func (s *Server) story(v *visit) error {
	tag, err := v.tag()
	if err != nil {
		return err
	}
	return s.writeStory(v.w, v.Request, tag)
}

func (s *Server) writeStory(w http.ResponseWriter, r *http.Request, tag registry.Tag) error {
	told, err := s.Workshop.Story(r.Context(), tag)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	// It is the one page that carries its style within it, since it is also a file.
	h.Set("Content-Security-Policy",
		"default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action "+
			"'none'; frame-ancestors 'none'")
	w.WriteHeader(http.StatusOK)
	return told.WriteHTML(w, s.Photos)
}

// storyForAll shows a machine's story to a phone that nobody paired, where the house wants that.
func (s *Server) storyForAll(w http.ResponseWriter, r *http.Request) bool {
	path := strings.TrimPrefix(strings.ToLower(r.URL.Path), "/m/")
	if !s.Config.Story.ForAll() || r.Method != http.MethodGet || path == strings.ToLower(r.URL.Path) {
		return false
	}
	tag, err := registry.ParseTag(path)
	if err != nil {
		return false
	}
	return s.writeStory(w, r, tag) == nil
}
