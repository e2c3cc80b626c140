package book

import (
	"crypto/rand"
	"strings"
)

// NewID makes an id that can be read in an address and is not taken: the name's
// plain letters and 50 random bits.
func NewID(name string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9':
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 24 {
			break
		}
	}
	text := strings.Trim(b.String(), "-")
	if text == "" {
		text = "plan"
	}
	return text + "-" + strings.ToLower(rand.Text()[:10])
}
