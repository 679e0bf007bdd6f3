package archive

import (
	"errors"
	"io"
	"os"
	"strings"

	"filippo.io/age"

	"pitman/registry"
)

// Encrypted ends the name of a backup that only those can read to whom it is encrypted.
const Encrypted = ".age"

// Sealing encrypts what is written, to whom house.toml names and to a key that this run alone knows, so that
// what was written can be checked; the key is forgotten then.
func (c Config) Sealing(to io.Writer) (w io.WriteCloser, own age.Identity, err error) {
	recipients, err := c.recipients()
	if err != nil || len(recipients) == 0 {
		return nopCloser{to}, nil, err
	}
	once, err := age.GenerateX25519Identity()
	if err != nil {
		return nil, nil, err
	}
	w, err = age.Encrypt(to, append(recipients, once.Recipient())...)
	return w, once, err
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

// Opened is what stands in a backup file: itself, or what is encrypted in it.
func Opened(f *os.File, keys []age.Identity) (io.Reader, error) {
	begin := make([]byte, len("age-encryption.org/"))
	if _, err := io.ReadFull(f, begin); err != nil || string(begin) != "age-encryption.org/" {
		_, err := f.Seek(0, io.SeekStart)
		return f, err
	}
	if len(keys) == 0 {
		return nil, registry.Errorf(registry.Invalid,
			"the backup is encrypted: name the file with the key that can read it").On("identity")
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	in, err := age.Decrypt(f, keys...)
	var none *age.NoIdentityMatchError
	if errors.As(err, &none) {
		return nil, registry.Errorf(registry.Invalid,
			"the backup is encrypted to other keys than this one: name the file with the right one").On("identity")
	}
	return in, err
}

// ReadKeys reads the keys by which encrypted backups are opened; without a file there are none.
func ReadKeys(file string) ([]age.Identity, error) {
	if file == "" {
		return nil, nil
	}
	text, err := ReadSmall(file)
	if err != nil {
		return nil, registry.Errorf(registry.NotFound,
			"key file %s cannot be read (%v): name the file of the key",
			file, RootCause(err)).On("identity")
	}
	keys, err := age.ParseIdentities(strings.NewReader(string(text)))
	if err != nil {
		return nil, registry.Errorf(registry.Invalid,
			"%s is no file of a key (%v): name the one whose public half the backups are encrypted "+
				"to", file, err).On("identity")
	}
	return keys, nil
}
