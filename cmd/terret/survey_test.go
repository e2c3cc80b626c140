package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Ten thousand tapes, in either form, are refused with the place and the most
// that is taken.
func TestTooManyTapes(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct{ head, line string }{
		"many.yaml": {"terret: tapes/1\nfixed: {P: [0, 0], Q: [9, 0]}\npoints: {A: [3, 4]}\ntapes:\n", "  - {from: P, to: A, m: 5}\n"},
		"many.csv":  {"from,to,m\n", "P,A,5\n"},
	} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(dir, name)
			if err := os.WriteFile(file, []byte(c.head+strings.Repeat(c.line, 10_000)), 0o600); err != nil {
				t.Fatal(err)
			}
			var stdout, stderr bytes.Buffer
			code := run([]string{"survey", "adjust", file, "--json"}, &stdout, &stderr)
			if code != exitWrong || stdout.Len() > 0 || !strings.Contains(stderr.String(), file+":") || !strings.Contains(stderr.String(), "at most 2000") {
				t.Errorf("exit %d, %q, %q", code, stdout.String(), stderr.String())
			}
		})
	}
}
