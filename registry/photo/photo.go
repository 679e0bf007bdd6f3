// Package photo takes in pictures from outside and keeps them in the house.
//
// A picture from a phone carries more than what it shows: where it was taken, on what, and by whose camera;
// and a file that only claims to be a picture can be made to fill a computer's memory. So nothing is stored
// as it came. Take reads the size before anything is decoded, decodes one picture at a time, turns it
// upright, makes it no larger than Longest, and writes the dots anew as a JPEG file that holds nothing else.
// The file is named by the SHA-256 of what is stored, so the same picture is kept once, and a damaged one is
// known.
package photo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"time"

	"golang.org/x/image/webp"

	"pitman/registry"
)

// Longest is the most dots along the longer side of a stored picture: a nameplate that fills half of it is
// read with ease.
const Longest = 2048

// Bounds for a file from elsewhere. Phones make pictures of 12 to 50 million dots in 3 to 15 MB.
const (
	MaxBytes  = 25 << 20
	maxDots   = 64_000_000
	maxRoom   = 256 << 20 // bytes of memory that decoding may take
	longest   = 30_000    // dots along a side
	decodeFor = 20 * time.Second
)

// quality of the stored JPEG: 1 to 100. At 88 the letters of a decal keep clean edges.
const quality = 88

// Picture is a picture as it is stored.
type Picture struct {
	Bytes         []byte
	Width, Height int
}

// Name is the name under which a picture is kept: the SHA-256 of its stored bytes, in hexadecimal.
func (p *Picture) Name() string { return nameOf(p.Bytes) }

func nameOf(stored []byte) string {
	sum := sha256.Sum256(stored)
	return hex.EncodeToString(sum[:])
}

// turn lets one picture be decoded at a time, so that many phones together need no more memory than one.
var turn = make(chan struct{}, 1)

// Take reads a picture from outside and makes of it what is stored. A file that is no picture, or no sound
// one, is refused.
func Take(ctx context.Context, r io.Reader) (*Picture, error) {
	raw, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, err
	}
	if len(raw) > MaxBytes {
		return nil, registry.Errorf(registry.Invalid,
			"the picture is larger than %d MB: take it again at the camera's usual size", MaxBytes>>20)
	}
	kind, err := kindOf(raw)
	if err != nil {
		return nil, err
	}
	size, err := kind.config(bytes.NewReader(raw))
	if err != nil {
		return nil, damaged(kind)
	}
	if err := fits(kind, raw, size); err != nil {
		return nil, err
	}
	select {
	case turn <- struct{}{}:
		defer func() { <-turn }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	ctx, stop := context.WithTimeout(ctx, decodeFor)
	defer stop()
	decoded, err := decode(kind, &bounded{ctx, bytes.NewReader(raw)})
	switch {
	case errors.Is(ctx.Err(), context.DeadlineExceeded):
		return nil, registry.Errorf(registry.Invalid,
			"the picture takes too long to read: take it again with the camera, and send that file")
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		return nil, damaged(kind)
	}
	// A decoder that found another size than the head of the file said would have escaped the bounds.
	if decoded.Bounds().Dx() != size.Width || decoded.Bounds().Dy() != size.Height {
		return nil, damaged(kind)
	}
	small := upright(shrink(decoded, Longest), orientation(kind.name, raw))
	var stored bytes.Buffer
	if err := jpeg.Encode(&stored, small, &jpeg.Options{Quality: quality}); err != nil {
		return nil, err
	}
	return &Picture{stored.Bytes(), small.Bounds().Dx(), small.Bounds().Dy()}, nil
}

func damaged(k *kind) error {
	return registry.Errorf(registry.Invalid,
		"the picture breaks off or is damaged (it begins as %s): send it once more, or take it again", k.name)
}

// decode turns a panic of a decoder into an error: the file comes from outside, and the house goes on.
func decode(k *kind, r io.Reader) (img image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("decoding: %v", p)
		}
	}()
	return k.decode(r)
}

// bounded ends a decoder that is given more time than it should take: a file can be made to be read slowly.
type bounded struct {
	ctx context.Context
	r   io.Reader
}

func (b *bounded) Read(p []byte) (int, error) {
	if err := b.ctx.Err(); err != nil {
		return 0, err
	}
	return b.r.Read(p[:min(len(p), 4096)])
}

// kind is a kind of picture file that is taken in.
type kind struct {
	name   string
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
}

var (
	kindJPEG = &kind{"JPEG", jpeg.DecodeConfig, jpeg.Decode}
	kindPNG  = &kind{"PNG", png.DecodeConfig, png.Decode}
	kindWebP = &kind{"WebP", webp.DecodeConfig, webp.Decode}
)

// kindOf knows a file by how it begins, not by its name.
func kindOf(raw []byte) (*kind, error) {
	begins := func(at int, mark string) bool {
		return len(raw) >= at+len(mark) && string(raw[at:at+len(mark)]) == mark
	}
	switch {
	case begins(0, "\xff\xd8\xff"):
		return kindJPEG, nil
	case begins(0, "\x89PNG\r\n\x1a\n"):
		return kindPNG, nil
	case begins(0, "RIFF") && begins(8, "WEBP"):
		return kindWebP, nil
	}
	is := "no picture"
	switch {
	case len(raw) == 0:
		is = "empty"
	case begins(4, "ftyphei") || begins(4, "ftyphev") || begins(4, "ftypmif1") || begins(4, "ftypmsf1"):
		is = "a HEIC picture: set the camera to its most compatible format"
	case begins(4, "ftypavif"):
		is = "an AVIF picture"
	case begins(4, "ftyp"):
		is = "a film"
	case begins(0, "GIF8"):
		is = "a GIF picture"
	case begins(0, "%PDF"):
		is = "a PDF document"
	case begins(0, "II*\x00") || begins(0, "MM\x00*"):
		is = "a TIFF or raw picture"
	case begins(0, "BM"):
		is = "a BMP picture"
	case begins(0, "<svg") || begins(0, "<?xml"):
		is = "a drawing in XML"
	}
	return nil, registry.Errorf(registry.Invalid, "the file is %s: a picture is a JPEG, PNG or WebP file", is)
}

// fits refuses a picture that would take more memory than one picture may, by what its head says, before
// anything is decoded.
func fits(k *kind, raw []byte, c image.Config) error {
	if c.Width < 1 || c.Height < 1 {
		return damaged(k)
	}
	dots := int64(c.Width) * int64(c.Height)
	if c.Width > longest || c.Height > longest || dots > maxDots || dots*room(k, raw) > maxRoom {
		return registry.Errorf(registry.Invalid,
			"the picture is %d × %d dots, which is more than is read here: take it again at the camera's "+
				"usual size, such as 4000 × 3000", c.Width, c.Height)
	}
	return nil
}

// room is how many bytes a dot takes at most while a picture of this kind is decoded, by how Go's decoders
// work.
func room(k *kind, raw []byte) int64 {
	switch {
	case k == kindJPEG && progressive(raw):
		return 15 // three planes of dots, and their coefficients in 32 bits each
	case k == kindPNG && len(raw) > 24 && raw[24] == 16: // the bit depth in the IHDR chunk
		return 8
	case k == kindWebP:
		return 12 // a lossless one is taken apart in several planes
	}
	return 4
}
