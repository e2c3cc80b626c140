package strict

import (
	"fmt"
	"strconv"

	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"

	"terret/internal/fault"
)

// yamlReader puts the tokens of a YAML text together. The library's own parser
// takes time in the square of the number of keys and recurses as deep as the
// text is nested; this one is linear and bounded, and knows only what the
// project's documents may hold.
type yamlReader struct {
	d    *Doc
	toks []*token.Token
	i    int
}

// tokens cuts the text, and turns a panic of the library into a fault.
func (d *Doc) tokens(text string) (toks token.Tokens, f *fault.Fault) {
	defer func() {
		if recover() != nil {
			f = d.syntax("syntax", 1, "the YAML cannot be read", "check quotes, brackets and indentation")
		}
	}()
	return lexer.Tokenize(text), nil
}

func (d *Doc) parseYAML(data []byte) (*node, *fault.Fault) {
	all, f := d.tokens(string(data))
	if f != nil {
		return nil, f
	}
	r := &yamlReader{d: d, toks: make([]*token.Token, 0, len(all))}
	headers, ended := 0, false
	for _, t := range all {
		line := t.Position.Line
		switch t.Type {
		case token.CommentType, token.SpaceType:
			continue
		case token.DocumentHeaderType:
			if headers++; headers > 1 || len(r.toks) > 0 {
				return nil, d.syntax("documents", line, "a second document begins here (---)", "one file holds one document")
			}
			continue
		case token.DocumentEndType:
			ended = true
			continue
		case token.AnchorType, token.AliasType:
			return nil, d.syntax("anchor", line, fmt.Sprintf("there is an anchor or alias (%s) here", clip(t.Value)), "write the value out at each place; a text that begins with & or * goes in quotes")
		case token.TagType:
			return nil, d.syntax("tag", line, fmt.Sprintf("there is a tag (%s) here", clip(t.Value)), "write the value alone; a text that begins with ! goes in quotes")
		case token.MergeKeyType:
			return nil, d.syntax("merge", line, "there is a merge key (<<) here", "write the keys out at each place")
		case token.MappingKeyType:
			return nil, d.syntax("syntax", line, "there is a question mark that begins a key", "write keys as `key: value`")
		case token.DirectiveType:
			return nil, d.syntax("directive", line, "there is a directive (%) here", "leave it out")
		case token.InvalidType, token.UnknownType:
			return nil, d.syntax("syntax", line, "this is not YAML: "+clip(t.Error), "check quotes, brackets and indentation near here; indent with blanks, not tabs")
		}
		if ended {
			return nil, d.syntax("documents", line, "there is more text after the end of the document (...)", "one file holds one document")
		}
		r.toks = append(r.toks, t)
	}
	if len(r.toks) == 0 {
		return nil, d.syntax("empty", 1, "the document is empty", "")
	}
	n, f := r.block(0, 0)
	if f != nil {
		return nil, f
	}
	if t := r.peek(0); t != nil {
		return nil, r.stray(t)
	}
	return n, nil
}

func (r *yamlReader) peek(ahead int) *token.Token {
	if r.i+ahead < len(r.toks) {
		return r.toks[r.i+ahead]
	}
	return nil
}

func (r *yamlReader) last() int { return r.toks[len(r.toks)-1].Position.Line }

func (r *yamlReader) stray(t *token.Token) *fault.Fault {
	return r.d.syntax("syntax", t.Position.Line, fmt.Sprintf("%q is out of place here", clip(t.Value)), "check the indentation, and that each line reads `key: value` or `- value`")
}

func isScalar(t *token.Token) bool {
	switch t.Type {
	case token.StringType, token.SingleQuoteType, token.DoubleQuoteType, token.IntegerType, token.BinaryIntegerType,
		token.OctetIntegerType, token.HexIntegerType, token.FloatType, token.BoolType, token.NullType, token.ImplicitNullType,
		token.InfinityType, token.NanType, token.LiteralType, token.FoldedType:
		return true
	}
	return false
}

// isKey reports whether the token `ahead` is a key: a scalar on one line with
// its colon.
func (r *yamlReader) isKey(ahead int) bool {
	t, c := r.peek(ahead), r.peek(ahead+1)
	return t != nil && c != nil && isScalar(t) && c.Type == token.MappingValueType && c.Position.Line == t.Position.Line &&
		t.Type != token.LiteralType && t.Type != token.FoldedType
}

// block reads the value that begins at the next token, outside brackets.
func (r *yamlReader) block(depth, line int) (*node, *fault.Fault) {
	t := r.peek(0)
	if t == nil {
		return &node{line: line}, nil
	}
	if depth > MaxDepth {
		return nil, r.d.tooDeep(t.Position.Line)
	}
	switch {
	case t.Type == token.SequenceEntryType:
		return r.blockList(t.Position.Column, depth)
	case r.isKey(0):
		return r.blockMapping(t.Position.Column, depth)
	}
	return r.inline(depth)
}

// inline reads a scalar or what stands in brackets.
func (r *yamlReader) inline(depth int) (*node, *fault.Fault) {
	t := r.peek(0)
	switch {
	case t == nil:
		return &node{line: r.last()}, nil
	case t.Type == token.SequenceStartType || t.Type == token.MappingStartType:
		return r.flow(depth)
	case isScalar(t):
		return r.scalar()
	}
	return nil, r.stray(t)
}

func (r *yamlReader) scalar() (*node, *fault.Fault) {
	t := r.peek(0)
	r.i++
	n := &node{line: t.Position.Line, text: t.Value}
	switch t.Type {
	case token.SingleQuoteType, token.DoubleQuoteType:
		n.quoted = true
	case token.LiteralType, token.FoldedType:
		n.quoted, n.text = true, ""
		if s := r.peek(0); s != nil && s.Type == token.StringType {
			n.text = s.Value
			r.i++
		}
	}
	return n, nil
}

func (r *yamlReader) blockList(col, depth int) (*node, *fault.Fault) {
	n := &node{kind: list, line: r.peek(0).Position.Line}
	for {
		t := r.peek(0)
		if t == nil || t.Position.Column != col || t.Type != token.SequenceEntryType {
			if t != nil && t.Position.Column > col {
				return nil, r.stray(t)
			}
			return n, nil
		}
		r.i++
		c := &node{line: t.Position.Line}
		if v := r.peek(0); v != nil && v.Position.Column > col {
			var f *fault.Fault
			if c, f = r.block(depth+1, t.Position.Line); f != nil {
				return nil, f
			}
		}
		c.up, c.index = n, len(n.items)
		n.items = append(n.items, c)
	}
}

func (r *yamlReader) blockMapping(col, depth int) (*node, *fault.Fault) {
	n := &node{kind: mapping, line: r.peek(0).Position.Line}
	seen := map[string]int{}
	for {
		t := r.peek(0)
		switch {
		case t == nil || t.Position.Column < col:
			return n, nil
		case t.Position.Column > col:
			return nil, r.stray(t)
		case !r.isKey(0):
			if t.Type == token.SequenceEntryType {
				return nil, r.stray(t)
			}
			return nil, r.d.syntax("syntax", t.Position.Line, fmt.Sprintf("%q is no key with a colon behind it", clip(t.Value)), "write `key: value`")
		}
		r.i += 2
		c, f := r.blockValue(col, depth, t.Position.Line)
		if f != nil {
			return nil, f
		}
		r.d.put(n, seen, t.Value, t.Position.Line, c)
	}
}

// blockValue reads what stands behind `key:` whose key begins at column col.
func (r *yamlReader) blockValue(col, depth, line int) (*node, *fault.Fault) {
	v := r.peek(0)
	switch {
	case v == nil:
	case v.Position.Line == line:
		if v.Type == token.SequenceEntryType || r.isKey(0) {
			return nil, r.stray(v)
		}
		return r.inline(depth + 1)
	case v.Position.Column > col:
		return r.block(depth+1, line)
	case v.Position.Column == col && v.Type == token.SequenceEntryType:
		return r.blockList(col, depth+1)
	}
	return &node{line: line}, nil
}

// flow reads a list or mapping in brackets.
func (r *yamlReader) flow(depth int) (*node, *fault.Fault) {
	open := r.peek(0)
	if depth > MaxDepth {
		return nil, r.d.tooDeep(open.Position.Line)
	}
	r.i++
	n := &node{kind: list, line: open.Position.Line}
	end := token.SequenceEndType
	if open.Type == token.MappingStartType {
		n.kind, end = mapping, token.MappingEndType
	}
	seen := map[string]int{}
	for {
		t := r.peek(0)
		if t == nil {
			return nil, r.d.syntax("syntax", open.Position.Line, fmt.Sprintf("the bracket %s is never closed", strconv.Quote(open.Value)), "close it")
		}
		if t.Type == end {
			r.i++
			return n, nil
		}
		line := t.Position.Line
		if n.kind == mapping {
			if !r.isKey(0) {
				if isScalar(t) {
					return nil, r.d.syntax("syntax", line, fmt.Sprintf("the key %q has no value", clip(t.Value)), "write `key: value`")
				}
				return nil, r.stray(t)
			}
			r.i += 2
		} else if r.isKey(0) {
			return nil, r.d.syntax("syntax", line, fmt.Sprintf("%q is a key in a list", clip(t.Value)), "put the key and its value in braces, or take the colon out")
		}
		c := &node{line: line}
		if v := r.peek(0); n.kind == list || v != nil && v.Type != token.CollectEntryType && v.Type != end {
			var f *fault.Fault
			if c, f = r.inline(depth + 1); f != nil {
				return nil, f
			}
		}
		if n.kind == mapping {
			r.d.put(n, seen, t.Value, line, c)
		} else {
			c.up, c.index = n, len(n.items)
			n.items = append(n.items, c)
		}
		switch t := r.peek(0); {
		case t == nil || t.Type == end:
		case t.Type == token.CollectEntryType:
			r.i++
		default:
			return nil, r.stray(t)
		}
	}
}
