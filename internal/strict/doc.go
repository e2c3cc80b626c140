// Package strict reads the project's documents: UTF-8 YAML, or the same tree as
// JSON, taken to the letter.
//
// A document is written by a person or by somebody's script, and a slip in it
// must not turn into a gate in the wrong place. So nothing is guessed: an
// unknown or repeated key, a number in quotes, a yes/no that is neither true
// nor false, an anchor, an alias, a tag, a second document, a number that is no
// number: each is a fault with its place (file, line, key), the value found and
// what would be right. Several faults of one reading are reported together.
//
// # Use
//
//	doc, err := strict.Parse("field.yaml", data)
//	if err != nil {
//		return err
//	}
//	top := doc.Root().Object("terret", "name", "ground")
//	name := top.Need("name").Text()
//	for _, v := range top.Get("things").List() { … }
//	return doc.Err()
//
// A [Value] that is not there (a missing key, or the inside of something that
// has already been faulted) answers every question with a zero value and no
// second fault; so a reader is written straight through and asks doc.Err once.
// The keys "notes" and those that begin with "x-" are allowed in every mapping
// and never seen by the reader.
//
// # What is read
//
// Of YAML: block and flow mappings and lists; plain, quoted and block scalars;
// comments; one document. A plain scalar has no type of its own: it is what the
// reader asks for, or a fault. That is why the gate letter N is a letter here
// and 012 is not a number (YAML readers disagree whether it is ten or twelve).
//
// # Bounds
//
// [MaxBytes] of text, [MaxMarks] separators and [MaxDepth] levels; the text is
// cut into tokens by a library and put together here, in time linear in its
// length. Whatever goes wrong inside the library is a fault as well.
//
// The package also writes: see [Tree] and [Map].
package strict

// MaxBytes is the longest document that is read: 4 MB.
const MaxBytes = 4 << 20

// MaxMarks is how many separators (commas, colons, dashes, brackets, line ends)
// a document may hold. A plan with 2,000 things holds about 30,000; the bound
// keeps what the tokens of one reading need below about 100 MB.
const MaxMarks = 300_000

// MaxDepth is how deep lists and mappings may be nested. The documents of this
// project need six levels.
const MaxDepth = 32

// MaxFaults is how many faults one reading reports; the rest are counted.
const MaxFaults = 20

// Warning is something odd but possible: worth telling, never a refusal.
type Warning struct {
	Rule    string // stable name, such as "gate-narrow"
	Place   string // where: "field.yaml:12: hazards[0].gates[1]"
	Message string // what is odd, with the number found
	Hint    string // what would be usual
}

// String gives place, message and hint on one line.
func (w Warning) String() string {
	s := w.Message
	if w.Place != "" {
		s = w.Place + ": " + s
	}
	if w.Hint != "" {
		s += "; " + w.Hint
	}
	return s
}
