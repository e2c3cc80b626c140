package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"terret/internal/fault"
)

// jsonReader walks the tokens of a JSON document and knows the line of each.
type jsonReader struct {
	d    *Doc
	data []byte
	dec  *json.Decoder
	at   int // data[:at] has been counted
	line int // the line of data[at]
}

func (d *Doc) parseJSON(data []byte) (*node, *fault.Fault) {
	r := &jsonReader{d: d, data: data, dec: json.NewDecoder(bytes.NewReader(data)), line: 1}
	r.dec.UseNumber()
	n, f := r.value(0)
	if f != nil {
		return nil, f
	}
	if _, err := r.dec.Token(); !errors.Is(err, io.EOF) {
		return nil, d.syntax("documents", r.lineAt(r.dec.InputOffset()), "there is more text after the end of the document", "one file holds one document")
	}
	return n, nil
}

// lineAt is the line of an offset; offsets never go back.
func (r *jsonReader) lineAt(offset int64) int {
	to := min(int(offset), len(r.data))
	if to > r.at {
		r.line += bytes.Count(r.data[r.at:to], []byte{'\n'})
		r.at = to
	}
	return r.line
}

func (r *jsonReader) next() (json.Token, int, *fault.Fault) {
	tok, err := r.dec.Token()
	line := r.lineAt(r.dec.InputOffset())
	if err == nil {
		return tok, line, nil
	}
	var syn *json.SyntaxError
	switch {
	case errors.As(err, &syn):
		return nil, 0, r.d.syntax("syntax", max(line, r.lineAt(syn.Offset)), "this is not JSON: "+clip(syn.Error()), "check quotes, commas and brackets near here")
	case errors.Is(err, io.EOF) && r.dec.InputOffset() == 0:
		return nil, 0, r.d.syntax("empty", 1, "the document is empty", "")
	}
	return nil, 0, r.d.syntax("syntax", r.lineAt(int64(len(r.data))), "the JSON breaks off before its end", "close every bracket and quote")
}

func (r *jsonReader) value(depth int) (*node, *fault.Fault) {
	tok, line, f := r.next()
	if f != nil {
		return nil, f
	}
	return r.from(tok, line, depth)
}

func (r *jsonReader) from(tok json.Token, line, depth int) (*node, *fault.Fault) {
	n := &node{line: line}
	switch t := tok.(type) {
	case string:
		n.text, n.quoted = t, true
	case json.Number:
		n.text = t.String()
	case bool:
		n.text = fmt.Sprint(t)
	case nil:
		n.text = "null"
	case json.Delim:
		if depth >= MaxDepth {
			return nil, r.d.tooDeep(line)
		}
		if t == '[' {
			return n, r.list(n, depth)
		}
		return n, r.object(n, depth)
	}
	return n, nil
}

func (r *jsonReader) list(n *node, depth int) *fault.Fault {
	n.kind = list
	for {
		tok, line, f := r.next()
		if f != nil {
			return f
		}
		if tok == json.Delim(']') {
			return nil
		}
		c, f := r.from(tok, line, depth+1)
		if f != nil {
			return f
		}
		c.up, c.index = n, len(n.items)
		n.items = append(n.items, c)
	}
}

func (r *jsonReader) object(n *node, depth int) *fault.Fault {
	n.kind = mapping
	seen := map[string]int{}
	for {
		tok, line, f := r.next()
		if f != nil {
			return f
		}
		name, ok := tok.(string)
		if !ok {
			return nil // the decoder lets nothing but '}' through here
		}
		c, f := r.value(depth + 1)
		if f != nil {
			return f
		}
		r.d.put(n, seen, name, line, c)
	}
}
