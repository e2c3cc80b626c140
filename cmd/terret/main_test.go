package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"terret": main})
}

// The scripts of testdata, one for each topic. Beside testscript's own commands
// they have:
//
//	status N terret …   the command ends with exit status N; stdout is empty for 1 and 2
//	document            stdout is one JSON document and nothing else
//	has PATH…           the last document has these places, such as routes.0.tight
//	lacks PATH…         the last document has not
//	is PATH JSON        the last document has that value there
//	grow FILE BYTES     writes a plan of that many bytes
//	posts FILE N        writes a plan with that many posts
//	spoil FROM TO OLD NEW   copies a file with one text exchanged, which must be there
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	// The scripts read the examples in processes of their own, which Go's cache of
	// passed tests knows nothing of: looked at here, they count.
	err = filepath.WalkDir(examples, func(path string, _ fs.DirEntry, err error) error {
		if err == nil {
			_, err = os.Stat(path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("EXAMPLES", examples)
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("XDG_DATA_HOME", "")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status, "document": document, "has": has, "lacks": lacks, "is": is,
			"grow": grow, "posts": posts, "spoil": spoil,
		},
	})
}

func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command [argument…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		exit, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
	said := ts.ReadFile("stderr")
	if out := ts.ReadFile("stdout"); (want == exitBroke || want == exitWrong) && (out != "" || said == "") {
		ts.Fatalf("exit status %d with %d bytes on stdout and %d on stderr", want, len(out), len(said))
	}
	if strings.Contains(said, "goroutine ") {
		ts.Fatalf("a stack on stderr")
	}
}

// read decodes stdout as one JSON document.
func read(ts *testscript.TestScript) any {
	d := json.NewDecoder(strings.NewReader(ts.ReadFile("stdout")))
	d.UseNumber()
	var v any
	ts.Check(d.Decode(&v))
	if _, err := d.Token(); err != io.EOF {
		ts.Fatalf("something follows the document")
	}
	return v
}

// at follows a path such as routes.0.tight into a document.
func at(v any, path string) (any, bool) {
	for _, step := range strings.Split(path, ".") {
		switch in := v.(type) {
		case map[string]any:
			next, ok := in[step]
			if !ok {
				return nil, false
			}
			v = next
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i < 0 || i >= len(in) {
				return nil, false
			}
			v = in[i]
		default:
			return nil, false
		}
	}
	return v, true
}

func document(ts *testscript.TestScript, _ bool, _ []string) { read(ts) }

func has(ts *testscript.TestScript, _ bool, paths []string) {
	v := read(ts)
	for _, p := range paths {
		if _, ok := at(v, p); !ok {
			ts.Fatalf("there is no %s", p)
		}
	}
}

func lacks(ts *testscript.TestScript, _ bool, paths []string) {
	v := read(ts)
	for _, p := range paths {
		if _, ok := at(v, p); ok {
			ts.Fatalf("there is a %s", p)
		}
	}
}

func is(ts *testscript.TestScript, _ bool, args []string) {
	v, ok := at(read(ts), args[0])
	got, err := json.Marshal(v)
	ts.Check(err)
	if !ok || string(got) != args[1] {
		ts.Fatalf("%s is %s, want %s", args[0], got, args[1])
	}
}

func grow(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	text := append([]byte("terret: plan/1\nnotes: "), bytes.Repeat([]byte("x"), n)...)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), text[:n], 0o600))
}

func posts(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	var b strings.Builder
	b.WriteString("terret: plan/1\nname: Posts\nground: {outline: [[0, 0], [600, 0], [600, 400], [0, 400]]}\nthings:\n")
	for i := range n {
		fmt.Fprintf(&b, "  - {id: p%d, kind: post, at: [%d, %d], radius: 0.06}\n", i, 10+i%500, 10+i/500)
	}
	b.WriteString("hazards:\n  - name: H\n    marker_radius: 0.06\n    in: {right: [5, 318], left: [5, 322]}\n    out: {right: [5, 322], left: [5, 318]}\n    gates:\n      - {letter: A, right: [14, 310], left: [14, 313]}\n")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o600))
}

func spoil(ts *testscript.TestScript, _ bool, args []string) {
	text := ts.ReadFile(args[0])
	if strings.Count(text, args[2]) == 0 {
		ts.Fatalf("%s does not hold %q", args[0], args[2])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(strings.Replace(text, args[2], args[3], 1)), 0o600))
}

// The whole program starts on a free port, says where it is, answers, and stops
// when it is told to, leaving nothing behind.
func TestServe(t *testing.T) {
	for _, c := range []struct {
		name    string
		args    []string
		keeps   bool
		first   string // the page the front leads to
		paper   string // one that the pages offer
		mustSay string
	}{
		{name: "the demo in a temporary folder", args: []string{"--demo"}, first: "/ground/hollowmere-orchard", paper: "/papers/hazard-drivers.pdf?plan=hollowmere-orchard", mustSay: "temporary folder"},
		{name: "an empty book in a folder of its own", args: []string{"--data", "book"}, keeps: true, first: "/ground"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			t.Chdir(dir)
			t.Setenv("TMPDIR", dir)
			said := serveAndStop(t, append([]string{"serve", "--addr", "127.0.0.1:0"}, c.args...), c.first, c.paper)
			if !strings.Contains(said, c.mustSay) {
				t.Errorf("stderr does not say %q: %q", c.mustSay, said)
			}
			left, err := filepath.Glob(filepath.Join(dir, "*"))
			if err != nil {
				t.Fatal(err)
			}
			if kept := len(left) > 0; kept != c.keeps {
				t.Errorf("left behind: %v", left)
			}
		})
	}
}

func serveAndStop(t *testing.T, args []string, first, paper string) (said string) {
	t.Helper()
	r, w := io.Pipe()
	var stderr bytes.Buffer
	ended := make(chan int, 1)
	go func() { ended <- run(args, w, &stderr); w.Close() }()

	lines := bufio.NewScanner(r)
	if !lines.Scan() {
		t.Fatalf("it ended with %d: %s", <-ended, stderr.String())
	}
	where, ok := strings.CutPrefix(lines.Text(), "Terret is at ")
	if !ok {
		t.Fatalf("first line: %q", lines.Text())
	}
	answer, err := http.Get(where)
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(answer.Body)
	answer.Body.Close()
	if answer.StatusCode != http.StatusOK || answer.Request.URL.Path != first || !bytes.Contains(body, []byte("Terret")) {
		t.Errorf("GET / leads to %s, status %d, %d bytes", answer.Request.URL, answer.StatusCode, len(body))
	}
	if paper != "" {
		answer, err := http.Get(where + paper)
		if err != nil {
			t.Fatal(err)
		}
		doc, _ := io.ReadAll(answer.Body)
		answer.Body.Close()
		if answer.StatusCode != http.StatusOK || !bytes.HasPrefix(doc, []byte("%PDF-")) {
			t.Errorf("GET %s has status %d and %d bytes that are no PDF", paper, answer.StatusCode, len(doc))
		}
	}
	http.DefaultClient.CloseIdleConnections()

	begun := time.Now()
	if err := syscall.Kill(os.Getpid(), syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	select {
	case code := <-ended:
		if code != exitAnswered {
			t.Errorf("told to stop, it ended with %d: %s", code, stderr.String())
		}
	case <-time.After(10 * time.Second):
		t.Fatal("told to stop, it does not")
	}
	if took := time.Since(begun); took > patience+time.Second {
		t.Errorf("stopping took %s", took)
	}
	return stderr.String()
}

// A panic is one line and exit status 1, never a stack.
func TestPanicIsOneLine(t *testing.T) {
	var stdout, stderr bytes.Buffer
	code := guarded(&stderr, func() int { panic("the axle\nfell off") })
	if code != exitBroke || stdout.Len() > 0 || strings.Count(stderr.String(), "\n") != 1 || strings.Contains(stderr.String(), "goroutine") {
		t.Errorf("exit %d, stderr %q", code, stderr.String())
	}
}

// Progress is silent for a second, and then speaks once a second.
func TestProgress(t *testing.T) {
	var stderr bytes.Buffer
	s := &streams{err: &stderr}
	now := time.Now()
	report := s.progressBy("planning", func() time.Time { return now })
	report(1, 3, "A to B")
	if stderr.Len() > 0 {
		t.Errorf("it speaks at once: %q", stderr.String())
	}
	now = now.Add(1100 * time.Millisecond)
	report(2, 3, "B to C")
	report(2, 3, "B to C")
	if want := "terret: planning: 2 of 3, B to C\n"; stderr.String() != want {
		t.Errorf("got %q, want %q", stderr.String(), want)
	}
}
