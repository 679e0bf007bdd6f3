package page

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/whole"
)

const (
	certFile = "certificate.pem"
	// browsers refuse longer ones (CA/Browser Forum baseline requirements, 6.3.2)
	certLife = 397 * 24 * time.Hour
	certLeft = 14 * 24 * time.Hour
)

// OwnCertificate reads a certificate and its key, as a name's owner gets them.
func OwnCertificate(cert, key string) (*tls.Certificate, error) {
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return nil, registry.Errorf(registry.Invalid,
			"the certificate %s and its key %s do not work together (%v): name both files as you were "+
				"given them", cert, key, err)
	}
	return &pair, nil
}

// SelfMade returns the certificate that this house made itself, or makes one that is good for these names and
// addresses for a year. It lies with the phones, outside every backup: it only says that this is the computer
// it was yesterday.
func SelfMade(dir string, names []string, now time.Time) (*tls.Certificate, error) {
	file := filepath.Join(dir, certFile)
	if text, err := os.ReadFile(file); err == nil {
		if pair, err := tls.X509KeyPair(text, text); err == nil && goodFor(pair.Leaf, names, now) {
			return &pair, nil
		}
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 126))
	if err != nil {
		return nil, err
	}
	form := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "pitman"},
		NotBefore: now.Add(-24 * time.Hour),
		NotAfter:  now.Add(certLife - 48*time.Hour), KeyUsage: x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true}
	for _, name := range names {
		if ip := net.ParseIP(name); ip != nil {
			form.IPAddresses = append(form.IPAddresses, ip)
		} else {
			form.DNSNames = append(form.DNSNames, name)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, &key.PublicKey, key)
	if err != nil {
		return nil, err
	}
	hidden, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	text := slices.Concat(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: hidden}))
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, os.ErrExist) {
		return nil, err
	}
	if err := whole.Write(file, text, 0o600); err != nil {
		return nil, err
	}
	pair, err := tls.X509KeyPair(text, text)
	return &pair, err
}

// goodFor says whether a certificate holds for all the names and some time to come.
func goodFor(cert *x509.Certificate, names []string, now time.Time) bool {
	if now.Before(cert.NotBefore) || now.Add(certLeft).After(cert.NotAfter) {
		return false
	}
	return !slices.ContainsFunc(names, func(name string) bool { return cert.VerifyHostname(name) != nil })
}

// Fingerprint is how a person tells a certificate: the SHA-256 of it, in pairs as browsers show it.
func Fingerprint(cert *tls.Certificate) string {
	sum := sha256.Sum256(cert.Certificate[0])
	pairs := make([]string, len(sum))
	for i, b := range sum {
		pairs[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(pairs, ":")
}
