package strict

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"terret/internal/fault"
)

// read walks a small document with every kind of getter.
func read(name, text string) (string, error) {
	d, err := Parse(name, []byte(text))
	if err != nil {
		return "", err
	}
	o := d.Root().Object("name", "letter", "size", "count", "wet", "points", "free")
	s := o.Get("name").Text() + "|" + o.Get("letter").Text()
	o.Get("size").Float()
	o.Get("count").Int(1, 9)
	o.Get("wet").Bool()
	for _, p := range o.Get("points").ListOf(4, "points") {
		p.Float()
	}
	for _, e := range o.Get("free").Entries() {
		e.Float()
	}
	return s, d.Err()
}

func TestFaultsNameRulePlaceValueAndRemedy(t *testing.T) {
	for _, c := range []struct{ about, text, rule, place, says string }{
		{"unknown key", "name: a\nsise: 3\n", "unknown-key", "f.yaml:2: sise", `did you mean "size"?`},
		{"unknown key in flow", "{name: a,\n nmae: b}", "unknown-key", "f.yaml:2: nmae", `"name"`},
		{"repeated key", "name: a\nname: b\n", "repeated-key", "f.yaml:2: name", "first in line 1"},
		{"repeated key in JSON", "{\"name\": \"a\",\n\"name\": \"b\"}", "repeated-key", "f.yaml:2: name", "first in line 1"},
		{"anchor", "name: &x a\n", "anchor", "f.yaml:1", "anchor"},
		{"alias", "name: a\nletter: *x\n", "anchor", "f.yaml:2", "alias"},
		{"tag", "name: !!str 3\n", "tag", "f.yaml:1", "!!str"},
		{"merge key", "free:\n  <<: {a: 1}\n", "merge", "f.yaml:2", "<<"},
		{"directive", "%YAML 1.1\n---\nname: a\n", "directive", "f.yaml:1", ""},
		{"explicit key", "? name\n: a\n", "syntax", "f.yaml:1", "question mark"},
		{"two documents", "name: a\n---\nname: b\n", "documents", "f.yaml:2", "second document"},
		{"text after the end", "name: a\n...\nname: b\n", "documents", "f.yaml:3", "after the end"},
		{"text after JSON", "x", "type", "f.yaml:1", "a mapping is wanted"},
		{"not UTF-8", "name: a\nletter: \xff\n", "encoding", "f.yaml:2", "UTF-8"},
		{"control character", "name: \"a\x01\"\n", "encoding", "f.yaml:1", "code 1"},
		{"control character escaped", `{"name": "\u0001"}`, "encoding", "f.yaml:1: name", "code 1"},
		{"empty", "", "empty", "f.yaml:1", "empty"},
		{"comment only", "# nothing\n", "empty", "f.yaml:1", "empty"},
		{"not a number", "size: wide\n", "type", "f.yaml:1: size", "wide stands here"},
		{"NaN", "size: .nan\n", "number", "f.yaml:1: size", ".nan"},
		{"NaN as a word", "size: NaN\n", "number", "f.yaml:1: size", "NaN"},
		{"infinite", "size: -.inf\n", "number", "f.yaml:1: size", "-.inf"},
		{"too large", "size: 1e999\n", "number", "f.yaml:1: size", "too large"},
		{"octal or not", "size: 012\n", "number", "f.yaml:1: size", "more than one way"},
		{"underscored", "size: 1_000\n", "number", "f.yaml:1: size", "more than one way"},
		{"hexadecimal", "size: 0x1F\n", "number", "f.yaml:1: size", "more than one way"},
		{"sexagesimal", "size: 1:30\n", "number", "f.yaml:1: size", "more than one way"},
		{"number in quotes", "size: \"3.5\"\n", "type", "f.yaml:1: size", "without quotes"},
		{"unit behind the number", "size: 3.5 m\n", "type", "f.yaml:1: size", "3.5 m"},
		{"comma in the number", "size: 3,5\n", "type", "f.yaml:1: size", "3,5"},
		{"nothing for a number", "size:\n", "type", "f.yaml:1: size", "nothing stands here"},
		{"half a count", "count: 2.5\n", "type", "f.yaml:1: count", "whole number"},
		{"count out of range", "count: 12\n", "range", "f.yaml:1: count", "from 1 to 9"},
		{"yes is not true", "wet: yes\n", "type", "f.yaml:1: wet", "true or false"},
		{"number for a text", "name: 12\n", "type", "f.yaml:1: name", `in quotes: "12"`},
		{"null for a text", "letter: null\n", "type", "f.yaml:1: letter", "nothing stands here"},
		{"true for a text", "letter: true\n", "type", "f.yaml:1: letter", `"true"`},
		{"list for a text", "name: [a]\n", "type", "f.yaml:1: name", "a list of 1"},
		{"list too long", "points: [1, 2, 3, 4, 5]\n", "too-many", "f.yaml:1: points", "5 points"},
		{"place in a list", "points:\n  - 1\n  - two\n", "type", "f.yaml:3: points[1]", "two"},
		{"place in a free mapping", "free:\n  a: 1\n  b c: x\n", "type", "f.yaml:3: free.b c", "x"},
		{"open bracket", "points: [1, 2\n", "syntax", "f.yaml:1", "never closed"},
		{"key without value in flow", "free: {a, b: 1}\n", "syntax", "f.yaml:1", `"a" has no value`},
		{"key in a list", "points: [a: 1]\n", "syntax", "f.yaml:1", "key in a list"},
		{"bad indentation", "free:\n    a: 1\n  b: 2\n", "syntax", "f.yaml:3", ""},
		{"no colon", "name: a\nletter\n", "syntax", "f.yaml:2", ""},
		{"mapping behind a key", "name: size: 3\n", "syntax", "f.yaml:1", ""},
		{"deep brackets", strings.Repeat("[", 100000), "depth", "f.yaml:1", "nested"},
		{"deep braces", strings.Repeat("{a: ", 50000), "depth", "f.yaml:1", "nested"},
		{"deep dashes", strings.Repeat("- ", 100000) + "a", "depth", "f.yaml:1", "nested"},
		{"deep indentation", deepBlock(300), "depth", "f.yaml:", "nested"},
		{"too many values", "points: [" + strings.Repeat("1,", MaxMarks) + "]", "too-many", "f.yaml:1", "commas"},
	} {
		t.Run(c.about, func(t *testing.T) {
			_, err := read("f.yaml", c.text)
			var f *fault.Fault
			if !errors.As(err, &f) {
				t.Fatalf("no fault but %v", err)
			}
			if f.Rule != c.rule || !strings.HasPrefix(f.Place, c.place) || !strings.Contains(f.Error(), c.says) {
				t.Errorf("rule %q, place %q: %v\nwant rule %q, place %q, saying %q", f.Rule, f.Place, f, c.rule, c.place, c.says)
			}
		})
	}
}

func deepBlock(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func TestJSONFaults(t *testing.T) {
	for _, c := range []struct{ about, text, rule, place string }{
		{"breaks off", "{\"name\":\n\"a\"", "syntax", "f.json:2"},
		{"comma missing", "{\"name\": \"a\"\n \"size\": 3}", "syntax", "f.json:2"},
		{"YAML in a .json", "name: a\n", "syntax", "f.json:1"},
		{"two documents", "{}\n{}", "documents", "f.json:2"},
		{"deep", strings.Repeat("[", 100000), "depth", "f.json:1"},
		{"empty", "", "empty", "f.json:1"},
		{"number too large", "{\"size\": 1e999}", "number", "f.json:1: size"},
	} {
		t.Run(c.about, func(t *testing.T) {
			_, err := read("f.json", c.text)
			var f *fault.Fault
			if !errors.As(err, &f) || f.Rule != c.rule || !strings.HasPrefix(f.Place, c.place) {
				t.Errorf("got %v, want rule %q at %q", err, c.rule, c.place)
			}
		})
	}
}

func TestPlainWordsAreTextWhereTextIsWanted(t *testing.T) {
	for _, l := range []string{"N", "Y", "E", "n", "NO", "yes", "off", "'null'", `"null"`, "'1'", `"true"`, "N # a comment"} {
		got, err := read("f.yaml", "letter: "+l+"\n")
		want := "|" + strings.Trim(strings.TrimSuffix(l, " # a comment"), `'"`)
		if err != nil || got != want {
			t.Errorf("letter: %s is read as %q (%v), want %q", l, got, err, want)
		}
	}
}

func TestNumbersThatAreRead(t *testing.T) {
	for text, want := range map[string]float64{"3": 3, "-0.5": -0.5, ".5": 0.5, "5.": 5, "+2": 2, "1e3": 1000, "1.5E-3": 0.0015, "0": 0, "-0": 0, "0.0": 0} {
		d, err := Parse("f.yaml", []byte("size: "+text))
		if err != nil {
			t.Fatal(err)
		}
		if got := d.Root().Object("size").Get("size").Float(); got != want || math.Signbit(got) != (want < 0) || d.Err() != nil {
			t.Errorf("size: %s is read as %v (%v), want %v", text, got, d.Err(), want)
		}
	}
}

// The shapes of YAML people write, all of one tree.
func TestManyWaysToWriteOneTree(t *testing.T) {
	const want = `{"free": {"a": 1, "b": [1, 2]}, "list": [{"x": "p q", "y": 2}, "s", []]}` + "\n"
	for _, text := range []string{
		"free: {a: 1, b: [1, 2]}\nlist: [{x: p q, y: 2}, s, []]\n",
		"---\nfree:\n  a: 1\n  b:\n    - 1\n    - 2\nlist:\n- x: p q\n  y: 2\n- s\n- []\n...\n",
		"free:\n  a: 1   # one\n  b:\n  - 1\n  - 2\n\nlist:\n  -\n    x: p\n      q\n    y: 2\n  - 's'\n  -   []\n",
		"{\n  \"free\": {\"a\": 1,\n    \"b\": [1,\n 2,]},\n  \"list\": [{\"x\": \"p q\", \"y\": 2,}, \"s\", []]\n}\n",
		`{"free": {"a": 1, "b": [1, 2]}, "list": [{"x": "p q", "y": 2}, "s", []]}`,
		"free:\r\n  a: 1\r\n  b: [1, 2]\r\nlist:\r\n  - {x: p q, y: 2}\r\n  - s\r\n  - []\r\n",
		"\xef\xbb\xbffree: {a: 1, b: [1, 2], notes: anything, x-mine: [1]}\nlist: [{x: p q, y: 2}, s, []]\nnotes: |\n  a: b\n  - c\nx-more: {a: ~}\n",
	} {
		d, err := Parse("f.yaml", []byte(text))
		if err != nil {
			t.Errorf("%v\n%s", err, text)
			continue
		}
		got, err := JSON(tree(d.Root().Plain()))
		if err != nil || string(got) != want || d.Err() != nil {
			t.Errorf("%s reads as %s (%v, %v)", text, got, err, d.Err())
		}
	}
}

func TestSeveralFaultsInTheOrderOfTheDocumentAndNoMoreThanTwenty(t *testing.T) {
	_, err := read("f.yaml", "size: wide\nnmae: a\ncount: 99\n")
	var l fault.List
	if !errors.As(err, &l) || len(l) != 3 || l[0].Rule != "type" || l[1].Rule != "unknown-key" || l[2].Rule != "range" {
		t.Errorf("got %v", err)
	}
	_, err = read("f.yaml", "free:\n"+strings.Repeat("  a: x\n", 500))
	if !errors.As(err, &l) || len(l) != MaxFaults+1 || l[MaxFaults].Rule != "more" {
		t.Errorf("got %d faults: %v", len(l), err)
	}
}

func TestReadFileRefusesBySizeAndByKind(t *testing.T) {
	if _, err := ReadFile(t.TempDir()); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("a folder: %v", err)
	}
	if _, err := ReadFile(t.TempDir() + "/none"); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Errorf("a missing file: %v", err)
	}
	_, err := Parse("f.yaml", make([]byte, MaxBytes+1))
	if code, _ := fault.CodeOf(err); code != fault.TooLarge {
		t.Errorf("a large document: %v", err)
	}
}

// Nothing a stranger can write in 4 MB holds the reader up.
func TestHostileTextIsReadInLinearTime(t *testing.T) {
	for about, text := range map[string]string{
		"block keys":     strings.Repeat("a: 1\n", 100000),
		"flow keys":      "a: {" + strings.Repeat("a: 1, ", 100000) + "}",
		"brackets":       strings.Repeat("[", 200000),
		"closing":        strings.Repeat("]", 4<<20),
		"dashes":         strings.Repeat("- ", 2<<20),
		"question marks": strings.Repeat("? ", 2<<20),
		"quotes":         strings.Repeat("'", 4<<20),
		"blanks":         strings.Repeat(" ", 4<<20),
		"comments":       strings.Repeat("# a\n", 200000),
		"anchors":        strings.Repeat("&a ", 1<<20),
		"plain words":    strings.Repeat("a ", 2<<20),
		"bangs":          strings.Repeat("!", 4<<20),
		"percents":       strings.Repeat("%a\n", 200000),
		"block scalar":   "a: |\n" + strings.Repeat("  x\n", 240000),
		"backslashes":    `"` + strings.Repeat(`\\`, 2<<20-10) + `"`,
		"header dashes":  strings.Repeat("---\n", 200000),
		"tabs":           strings.Repeat("\t", 4<<20),
		"one long line":  "a: " + strings.Repeat("x", 4<<20-10),
	} {
		start := time.Now()
		if d, err := Parse("f.yaml", []byte(text)); err == nil {
			d.Root().Plain()
		}
		// Well under a second each on a machine at rest. This is no measure of speed,
		// only a guard: quadratic time would take many minutes.
		if took := time.Since(start); took > time.Minute {
			t.Errorf("%s: %v", about, took)
		} else {
			t.Log(about, took)
		}
	}
}

// tree turns plain data into a Tree with sorted keys.
func tree(v any) Tree { return FromPlain(v) }

func TestWrittenFormIsShortAndReadAlikeByOldAndNewReaders(t *testing.T) {
	for want, tree := range map[string]Tree{
		`a: "N"`:                 "N",
		`a: "y"`:                 "y",
		`a: "on"`:                "on",
		`a: "12"`:                "12",
		`a: "2026-05-01"`:        "2026-05-01",
		`a: Hazard 1`:            "Hazard 1",
		`a: "a: b"`:              "a: b",
		"a: 0.1":                 0.1,
		"a: 1.0e+21":             1e21,
		"a: 12.3456789":          InDegrees(radians(12.3456789)),
		"a: [1, true, {b: []}]":  List{1, true, Map{{"b", List{}}}},
		"a: 0.30000000000000004": 0.1 + 0.2*float64(len("x")),
		`a: "say \"hé\"\n"`:      "say \"hé\"\n",
	} {
		got, err := YAML(Map{{"a", tree}})
		if err != nil || string(got) != want+"\n" {
			t.Errorf("%v is written %s (%v), want %s", tree, got, err, want)
		}
	}
	for _, bad := range []Tree{math.NaN(), math.Inf(1), struct{}{}, List{Map{{"a", math.NaN()}}}} {
		if _, err := YAML(Map{{"a", bad}}); err == nil {
			t.Errorf("%v was written", bad)
		}
		if _, err := JSON(bad); err == nil {
			t.Errorf("%v was written as JSON", bad)
		}
	}
}
