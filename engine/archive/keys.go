package archive

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
)

// NewKey makes a key pair of Ed25519 (RFC 8032): the private key in PEM as
// PKCS #8 (RFC 5958), the public one in PEM as SubjectPublicKeyInfo (RFC 5280).
func NewKey() (private, public []byte, err error) {
	pub, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	k, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, nil, err
	}
	p, err := x509.MarshalPKIXPublicKey(pub)
	if err != nil {
		return nil, nil, err
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: k}), pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: p}), nil
}

// ParseKey reads a private key of Ed25519, PEM with PKCS #8.
func ParseKey(text []byte) (ed25519.PrivateKey, error) {
	b, err := parsePEM(text, "PRIVATE KEY", "PUBLIC KEY", "this is a public key; sealing needs the private one")
	if err != nil {
		return nil, err
	}
	any, err := x509.ParsePKCS8PrivateKey(b)
	if err != nil {
		return nil, errors.New("the key can't be read: it is not whole")
	}
	key, ok := any.(ed25519.PrivateKey)
	if !ok {
		return nil, errors.New("the key is not one of Ed25519; `taut seal --new-key FILE` makes one")
	}
	return key, nil
}

// ParsePublicKey reads a public key of Ed25519, PEM with SubjectPublicKeyInfo.
func ParsePublicKey(text []byte) (ed25519.PublicKey, error) {
	b, err := parsePEM(text, "PUBLIC KEY", "PRIVATE KEY", "this is a private key: verifying needs the public one, FILE.pub; keep this one to yourself")
	if err != nil {
		return nil, err
	}
	any, err := x509.ParsePKIXPublicKey(b)
	if err != nil {
		return nil, errors.New("the key can't be read: it is not whole")
	}
	key, ok := any.(ed25519.PublicKey)
	if !ok {
		return nil, errors.New("the key is not one of Ed25519")
	}
	return key, nil
}

func parsePEM(text []byte, want, other, isOther string) ([]byte, error) {
	block, _ := pem.Decode(text)
	switch {
	case block == nil:
		return nil, fmt.Errorf("this is no key: it has no line -----BEGIN %s-----", want)
	case block.Type == other:
		return nil, errors.New(isOther)
	case block.Type != want:
		return nil, fmt.Errorf("this is %q; a key of Ed25519 is %q", block.Type, want)
	}
	return block.Bytes, nil
}

// Fingerprint is the SHA-256 sum of a public key's SubjectPublicKeyInfo, in
// hexadecimal digits.
func Fingerprint(key ed25519.PublicKey) string {
	b, err := x509.MarshalPKIXPublicKey(key)
	if err != nil {
		return ""
	}
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

// sign signs a line.
func (l *line) sign(key ed25519.PrivateKey) {
	if key == nil {
		return
	}
	l.PublicKey = base64.StdEncoding.EncodeToString(key.Public().(ed25519.PublicKey))
	l.Signature = base64.StdEncoding.EncodeToString(ed25519.Sign(key, l.signed()))
}

// verifySignature reports whether the signature is that of the line by the key
// that the line names.
func (e *Entry) verifySignature() bool {
	signature, err := base64.StdEncoding.DecodeString(e.line.Signature)
	return err == nil && e.Key() != nil && ed25519.Verify(e.Key(), e.line.signed(), signature)
}
