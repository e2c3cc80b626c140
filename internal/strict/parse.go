package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"

	"terret/internal/fault"
)

// Doc is one document that has been read, and the faults found in it so far.
type Doc struct {
	name   string
	root   *node
	faults []found
	more   int // faults beyond MaxFaults
}

// found is a fault with the line it is sorted by.
type found struct {
	*fault.Fault
	line int
}

// ReadFile reads a document's text. A file over MaxBytes is refused by its
// size, before it is read; a file that is not there or is no file is a fault
// too. Any other error is the disk's.
func ReadFile(path string) ([]byte, error) { return ReadFileMost(path, MaxBytes, tooLarge) }

// ReadFileMost is ReadFile for texts that may have another size; tooLarge makes
// the fault of one that is over it.
func ReadFileMost(path string, most int64, tooLarge func(name string, size int64) error) ([]byte, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &fault.Fault{Code: fault.NotFound, Rule: "file", Place: path, Message: "there is no such file", Hint: "check the name and the folder"}
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	if info.IsDir() {
		return nil, &fault.Fault{Code: fault.Input, Rule: "file", Place: path, Message: "this is a folder", Hint: "name a file in it"}
	}
	if info.Size() > most {
		return nil, tooLarge(path, info.Size())
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1)) // pipes have no size
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", path, err)
	}
	if int64(len(data)) > most {
		return nil, tooLarge(path, int64(len(data)))
	}
	return data, nil
}

func tooLarge(name string, size int64) error {
	return &fault.Fault{
		Code: fault.TooLarge, Rule: "too-large", Place: name,
		Message: fmt.Sprintf("the document is %.1f MB", float64(size)/(1<<20)),
		Hint:    fmt.Sprintf("at most %d MB are read", MaxBytes>>20),
	}
}

// Parse reads a document. name is the file's name for the places of faults; a
// name that ends in .json, or text that is a JSON object or list, is read as
// JSON, all else as YAML. The error is a *fault.Fault.
func Parse(name string, data []byte) (*Doc, error) {
	d := &Doc{name: name}
	if len(data) > MaxBytes {
		return nil, tooLarge(name, int64(len(data)))
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if f := d.checkText(data); f != nil {
		return nil, f
	}
	lead := bytes.TrimLeft(data, " \t\r\n")
	var f *fault.Fault
	if strings.HasSuffix(strings.ToLower(name), ".json") ||
		(len(lead) > 0 && (lead[0] == '{' || lead[0] == '[') && json.Valid(data)) {
		d.root, f = d.parseJSON(data)
	} else {
		d.root, f = d.parseYAML(data)
	}
	if f != nil {
		return nil, f
	}
	return d, nil
}

// checkText refuses what is not text, and more separators than MaxMarks.
func (d *Doc) checkText(data []byte) *fault.Fault {
	if !utf8.Valid(data) {
		line := 1
		for i := 0; i < len(data); {
			r, n := utf8.DecodeRune(data[i:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			if r == '\n' {
				line++
			}
			i += n
		}
		return d.syntax("encoding", line, "the text is not UTF-8", "save the file as UTF-8")
	}
	line, marks := 1, 0
	for _, c := range data {
		switch {
		case c == '\n':
			line++
			marks++
		case strings.IndexByte(",:[]{}-?&*", c) >= 0:
			marks++
		case c < ' ' && c != '\t' && c != '\r' || c == 0x7f:
			return d.syntax("encoding", line, fmt.Sprintf("there is a control character (code %d) in the text", c), "take it out")
		}
	}
	if marks > MaxMarks {
		f := d.syntax("too-many", 1, fmt.Sprintf("the document has %d lines, commas, colons, dashes and brackets", marks), fmt.Sprintf("at most %d are read", MaxMarks))
		f.Code = fault.TooLarge
		return f
	}
	return nil
}

// syntax is a fault that ends the reading.
func (d *Doc) syntax(rule string, line int, message, hint string) *fault.Fault {
	return &fault.Fault{Code: fault.Input, Rule: rule, Place: fmt.Sprintf("%s:%d", d.name, line), Message: message, Hint: hint}
}

func (d *Doc) tooDeep(line int) *fault.Fault {
	return d.syntax("depth", line, fmt.Sprintf("lists and mappings are nested more than %d deep", MaxDepth), "no document of ours needs more than six levels")
}

// put adds a child to a mapping, or faults a key that is there already.
func (d *Doc) put(m *node, seen map[string]int, name string, line int, child *node) {
	child.up, child.name = m, name
	if at, twice := seen[name]; twice {
		if !ignored(name) {
			d.add(child, line, "repeated-key", fmt.Sprintf("the key %q is written twice, first in line %d", clip(name), at), "keep one of them")
		}
		return
	}
	seen[name] = line
	m.keys = append(m.keys, key{name, line, child})
}
