package page

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"mime/multipart"
	"net/http"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pitman/registry"
	"pitman/registry/photo"
)

const maxUpload = photo.MaxBytes + maxForm

// parse reads a form, with a picture or without.
func (v *visit) parse() error {
	if !takesPictures(v.Request) {
		return bad(v.ParseForm())
	}
	v.Body = http.MaxBytesReader(v.w, v.Body, maxUpload)
	// What is beyond the first part of it waits in a file, not in memory.
	return bad(v.ParseMultipartForm(maxForm))
}

func bad(err error) error {
	var tooLarge *http.MaxBytesError
	if err == nil || errors.As(err, &tooLarge) {
		return err
	}
	return registry.Errorf(registry.Invalid, "what you sent did not arrive whole: send it again")
}

// pictureIn is the picture that came in a field of a form; nil when none was chosen.
func (v *visit) pictureIn(name string) (multipart.File, error) {
	if v.MultipartForm == nil {
		return nil, nil
	}
	f, header, err := v.FormFile(name)
	if errors.Is(err, http.ErrMissingFile) || err == nil && header.Size == 0 {
		return nil, nil
	}
	return f, err
}

// scanned is what a label said: the tag of a head or base, or a place.
type scanned struct {
	tag   registry.Tag
	place string
	said  string // of it, or of why nothing was read; empty where no picture was sent
}

// scannedPicture reads the label in a picture that was sent, if one was. No browser's own reader is relied
// on.
func (s *Server) scannedPicture(v *visit) (scanned, error) {
	f, err := v.pictureIn("frame")
	if err != nil || f == nil {
		return scanned{}, err
	}
	defer f.Close()
	p, err := photo.Take(v.ctx(), f)
	if err != nil {
		return scanned{}, err
	}
	img, err := jpeg.Decode(bytes.NewReader(p.Bytes))
	if err != nil {
		return scanned{}, err
	}
	text := symbolIn(img)
	if text == "" {
		return scanned{said: "No label can be read in that picture: go nearer, hold still, and let light " +
			"on it."}, nil
	}
	if tag, err := registry.ParseTag(text); err == nil {
		return scanned{tag: tag, said: string(tag) + " was read."}, s.Scanned(v.ctx(), v.by, tag)
	}
	place, err := s.PlaceScanned(v.ctx(), text)
	return scanned{place: place, said: "The place " + place + " was read."}, err
}

// symbolIn is what the QR symbol in a picture says; empty when none can be read.
func symbolIn(img image.Image) string {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return ""
	}
	found, err := qrcode.NewQRCodeReader().Decode(bitmap,
		map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return ""
	}
	return found.GetText()
}

// scan answers the page's script, which sends frames of its camera.
func (s *Server) scan(v *visit) error {
	if err := v.parse(); err != nil {
		return err
	}
	read, err := s.scannedPicture(v)
	if err != nil && registry.CodeOf(err) == "" {
		return err
	}
	answer := map[string]string{}
	if err == nil && read.tag != "" {
		answer["tag"] = string(read.tag)
	}
	if err == nil && read.place != "" {
		answer["place"] = read.place
	}
	writeJSON(v.w, http.StatusOK, answer)
	return nil
}

// goOn sends a browser on after something was done: by a redirect, or by a header where the page's script
// sent it, which would follow a redirect by itself and swallow what the next page says.
func (v *visit) goOn(to string) {
	if v.Header.Get("Pitman-Page") != "" {
		v.w.Header().Set("Pitman-To", to)
		v.w.WriteHeader(http.StatusNoContent)
		return
	}
	http.Redirect(v.w, v.Request, to, http.StatusSeeOther)
}
