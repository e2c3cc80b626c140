package strict

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"pgregory.net/rapid"

	"terret/internal/fault"
)

// shapeOf writes the shape of a document: its keys, lists and the text of its
// scalars, whatever their type.
func shapeOf(n *node) string {
	switch n.kind {
	case list:
		parts := make([]string, len(n.items))
		for i, c := range n.items {
			parts[i] = shapeOf(c)
		}
		return "[" + strings.Join(parts, ",") + "]"
	case mapping:
		parts := make([]string, len(n.keys))
		for i, k := range n.keys {
			parts[i] = fmt.Sprintf("%q:%s", k.name, shapeOf(k.node))
		}
		return "{" + strings.Join(parts, ",") + "}"
	}
	if n.isNull() {
		return "null"
	}
	return fmt.Sprintf("%q", n.text)
}

// libraryShape is the same of the library's own reading.
func libraryShape(n ast.Node) string {
	pair := func(v *ast.MappingValueNode) string {
		return fmt.Sprintf("%q:%s", v.Key.GetToken().Value, libraryShape(v.Value))
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		parts := make([]string, len(n.Values))
		for i, v := range n.Values {
			parts[i] = pair(v)
		}
		return "{" + strings.Join(parts, ",") + "}"
	case *ast.MappingValueNode:
		return "{" + pair(n) + "}"
	case *ast.SequenceNode:
		parts := make([]string, len(n.Values))
		for i, v := range n.Values {
			parts[i] = libraryShape(v)
		}
		return "[" + strings.Join(parts, ",") + "]"
	case *ast.LiteralNode:
		return fmt.Sprintf("%q", n.Value.Value)
	case *ast.NullNode:
		return "null"
	case nil:
		return "null"
	}
	return fmt.Sprintf("%q", n.GetToken().Value)
}

// libraryReads is the library's reading of one document, and whether there is
// one at all: a text it refuses, or panics at, says nothing.
func libraryReads(text string) (shape string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	f, err := parser.ParseBytes([]byte(text), 0)
	if err != nil || len(f.Docs) != 1 || f.Docs[0].Body == nil {
		return "", false
	}
	return libraryShape(f.Docs[0].Body), true
}

func seeds(f *testing.F) {
	files, _ := filepath.Glob("../../examples/*/*.yaml")
	if len(files) < 10 {
		f.Fatal("the examples are missing")
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	for _, s := range []string{
		"", "a: |\n  b\n  c\n", "a: >-\n  b\n\n  c\n", "- - - a\n- {b: [c, 'd', \"e\\n\"]}\n", "a:\n- b\n-\n  - c\nd:\n", "{\"a\": [1, 2.5e3, true, null, \"\\u00e9\"]}",
		"? a\n: b\n", "a: &b c\n", "<<: a\n", "--- a\n...\n", "a: 'b''c'\n", "a: b #c\n#d\ne: f\n", "[[[[", "{{{{", "a: b: c\n", "\t- a", "a:\n  b\n c: d\n", "a: - b\n", "'a': 1\n\"b\": 2\n",
	} {
		f.Add(s)
	}
}

// Whatever the text: no panic; a refusal is a fault with a place; and where the
// library reads the text as well, it reads the same tree.
func FuzzParse(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := Parse("f.yaml", []byte(text))
		if err != nil {
			var ft *fault.Fault
			if !errors.As(err, &ft) || ft.Place == "" || ft.Rule == "" || ft.Message == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		d.Root().Plain()
		if d.Err() != nil || json.Valid([]byte(text)) || len(text) > 4096 { // the library takes the square of the length
			return
		}
		got := shapeOf(d.root)
		if want, ok := libraryReads(text); ok && got != want {
			t.Errorf("%q\nread as %s\nlibrary %s", text, got, want)
		}
	})
}

// anyTree draws plain data of the kinds documents hold.
func anyTree(depth int) *rapid.Generator[any] {
	leaf := rapid.OneOf(
		rapid.Map(rapid.Float64(), func(f float64) any { return f + 0 }),
		rapid.Map(rapid.Bool(), func(b bool) any { return b }),
		rapid.Map(word(), func(s string) any { return s }),
	)
	if depth == 0 {
		return leaf
	}
	return rapid.OneOf(leaf,
		rapid.Map(rapid.SliceOfN(anyTree(depth-1), 0, 5), func(l []any) any { return l }),
		rapid.Map(rapid.MapOfN(word().Filter(func(s string) bool { return !ignored(s) }), anyTree(depth-1), 0, 5), func(m map[string]any) any { return m }),
	)
}

// word draws text, some of which YAML readers like to mistake.
func word() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.SampledFrom([]string{"N", "Y", "no", "on", "null", "~", "", " ", "1", "012", "1_0", ".nan", "0x1", "1:30", "true", "a: b", "- a", "#", "a #b", "'", `"`, "\\", "&a", "*a", "!a", "%a", "@", "`", "|", ">", "{", "]", ",", "a\nb", "\ta", "é", "日本", "😀", "\u2028", "\u0085", "\ufeff", "=", "<<", "---", "...", "a ", " a", "-", "?", "x:", "2026-05-01"}),
		rapid.StringOf(rapid.RuneFrom(nil, unicode.L, unicode.Nd, unicode.P, unicode.S, unicode.Zs)),
	)
}

// What is written reads back the same, here and in the library.
func TestWrittenTreesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := any(rapid.MapOfN(word().Filter(func(s string) bool { return !ignored(s) }), anyTree(3), 1, 5).Draw(t, "tree"))
		for name, write := range map[string]func(Tree) ([]byte, error){"f.yaml": YAML, "f.json": JSON} {
			text, err := write(FromPlain(want))
			if err != nil {
				t.Fatal(err)
			}
			d, err := Parse(name, text)
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			if got := d.Root().Plain(); d.Err() != nil || !reflect.DeepEqual(got, want) {
				t.Fatalf("%v\n%s\nread as %#v\nwant    %#v", d.Err(), text, got, want)
			}
			if name == "f.yaml" {
				var lib any
				if err := yaml.Unmarshal(text, &lib); err != nil {
					t.Fatalf("the library: %v\n%s", err, text)
				}
				if got := asFloats(lib); !reflect.DeepEqual(got, want) {
					t.Fatalf("%s\nthe library reads %#v\nwant %#v", text, got, want)
				}
			}
		}
	})
}

// asFloats makes the library's whole numbers floats.
func asFloats(v any) any {
	switch v := v.(type) {
	case []any:
		for i := range v {
			v[i] = asFloats(v[i])
		}
	case map[string]any:
		for k := range v {
			v[k] = asFloats(v[k])
		}
	case uint64:
		return float64(v)
	case int64:
		return float64(v)
	}
	return v
}
