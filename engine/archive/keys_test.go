package archive

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/pem"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// testKey is a key of no secrecy: its seed is that of the first test vector of
// RFC 8032.
var testKey = ed25519.NewKeyFromSeed(fromHex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"))

func fromHex(s string) []byte {
	b, err := hex.DecodeString(s)
	if err != nil {
		panic(err)
	}
	return b
}

// TestRFC8032 holds the signatures that we use to the test vectors of RFC
// 8032, section 7.1, TEST 1 to TEST 3 and TEST SHA(abc): the keys go through
// ParseKey and ParsePublicKey as PEM.
func TestRFC8032(t *testing.T) {
	for _, v := range []struct{ name, seed, public, message, signature string }{
		{"TEST 1", "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
			"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"},
		{"TEST 2", "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
			"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"},
		{"TEST 3", "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
			"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
			"6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"},
		{"TEST SHA(abc)", "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
			"ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
			"ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
			"dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704"},
	} {
		// The prefixes are those of RFC 8410, sections 7 and 4.
		private := pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: append(fromHex("302e020100300506032b657004220420"), fromHex(v.seed)...)})
		public := pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: append(fromHex("302a300506032b6570032100"), fromHex(v.public)...)})
		key, err := ParseKey(private)
		if err != nil {
			t.Fatalf("%s: %v", v.name, err)
		}
		pub, err := ParsePublicKey(public)
		if err != nil {
			t.Fatalf("%s: %v", v.name, err)
		}
		if !pub.Equal(key.Public()) {
			t.Errorf("%s: the public key is %x", v.name, key.Public())
		}
		got := ed25519.Sign(key, fromHex(v.message))
		if hex.EncodeToString(got) != v.signature {
			t.Errorf("%s: the signature is %x", v.name, got)
		}
		if !ed25519.Verify(pub, fromHex(v.message), fromHex(v.signature)) {
			t.Errorf("%s: the signature is not verified", v.name)
		}
		for i := range got {
			got[i] ^= 1
			if ed25519.Verify(pub, fromHex(v.message), got) {
				t.Errorf("%s: a signature with byte %d changed is verified", v.name, i)
			}
			got[i] ^= 1
		}
	}
}

// TestNewKey: a new pair belongs together, and is a new one each time.
func TestNewKey(t *testing.T) {
	private, public, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ParseKey(private)
	if err != nil {
		t.Fatal(err)
	}
	pub, err := ParsePublicKey(public)
	if err != nil {
		t.Fatal(err)
	}
	if !pub.Equal(key.Public()) {
		t.Error("the keys do not belong together")
	}
	again, _, err := NewKey()
	if err != nil || bytes.Equal(again, private) {
		t.Error("the same key twice")
	}
}

// TestBadKeys: what is no key is told.
func TestBadKeys(t *testing.T) {
	private, public, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	cut := pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: []byte{0x30, 0x2e, 2, 1}})
	for _, c := range []struct {
		text []byte
		want string
	}{
		{nil, "this is no key"}, {[]byte("hello"), "this is no key"}, {public, "this is a public key"}, {cut, "not whole"},
		{pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY"}), `"EC PRIVATE KEY"`},
	} {
		if _, err := ParseKey(c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
	for _, c := range []struct {
		text []byte
		want string
	}{
		{nil, "this is no key"}, {private, "this is a private key"},
		{pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: []byte{1}}), "not whole"},
	} {
		if _, err := ParsePublicKey(c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
}

// TestSignatureElsewhere has another program, openssl, verify the signature of
// a line and work out the fingerprint, as the manual says that it can.
func TestSignatureElsewhere(t *testing.T) {
	openssl, err := exec.LookPath("openssl")
	if err != nil {
		t.Skip("openssl is not installed")
	}
	dir := t.TempDir()
	_, public, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	pub := pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: append(fromHex("302a300506032b6570032100"), testKey.Public().(ed25519.PublicKey)...)})
	l := line{N: 1, Previous: zeroSum, Apparatus: "WF 7", Bag: "2026-03-12-x", Record: "record.md", Date: "2026-03-12", Title: "a <b> & ü"}
	l.sign(testKey)
	e := &Entry{line: l}
	if !e.verifySignature() {
		t.Error("the signature is not verified here")
	}
	signature, _, _ := strings.Cut(l.Signature, "\n")
	writeFiles(t, dir, map[string]string{"pub": string(pub), "other": string(public), "line": string(l.signed()), "sig64": signature + "\n"})
	run := func(args ...string) (string, error) {
		c := exec.Command(openssl, args...)
		c.Dir = dir
		out, err := c.CombinedOutput()
		return string(out), err
	}
	if out, err := run("base64", "-d", "-A", "-in", "sig64", "-out", "sig"); err != nil {
		t.Fatal(out, err)
	}
	verify := []string{"pkeyutl", "-verify", "-pubin", "-rawin", "-in", "line", "-sigfile", "sig", "-inkey"}
	if out, err := run(append(verify, "pub")...); err != nil {
		t.Errorf("%s %v", out, err)
	}
	if out, err := run(append(verify, "other")...); err == nil {
		t.Errorf("another key verifies it: %s", out)
	}
	if out, err := run("pkey", "-pubin", "-in", "pub", "-outform", "DER", "-out", "der"); err != nil {
		t.Fatal(out, err)
	}
	der, err := os.ReadFile(filepath.Join(dir, "der"))
	if err != nil || sumOf(der) != Fingerprint(testKey.Public().(ed25519.PublicKey)) {
		t.Errorf("the fingerprint is another: %v", err)
	}
}
