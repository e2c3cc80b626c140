package store_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"terret/internal/rules"
	"terret/internal/store"
	"terret/internal/trial"
)

// Marks of the test below: so many, sent in batches of so many.
const (
	pile  = 2_000
	batch = 8
)

func pileMark(n int) trial.Mark {
	return trial.Mark{
		ID: fmt.Sprint("m", n), At: 1_000_000 + int64(n), By: "Una", Device: "phone",
		Sheet: &trial.Sheet{Phase: rules.Hazards, Entry: n + 1, Course: "H1", Gates: "A B C", Seconds: fmt.Sprintf("%d.%02d", 30+n%60, n%100)},
	}
}

func oneHazard() *trial.Trial {
	return &trial.Trial{
		Name:    "Killed",
		Classes: []trial.Class{{ID: "N", Through: "C", Phases: []string{rules.Hazards}}},
		Entries: []trial.Entry{{Number: 1, Class: "N"}},
		Courses: []trial.Course{{ID: "H1", Phase: rules.Hazards}},
	}
}

// TestMain is also the process that is killed: with these words in its environment
// it appends the pile to a trial, batch by batch, says which marks were
// acknowledged, and never ends by itself.
func TestMain(m *testing.M) {
	if where := os.Getenv("TERRET_APPEND_TO"); where != "" {
		appendPile(where, os.Getenv("TERRET_APPEND_TRIAL"))
		select {}
	}
	os.Exit(m.Run())
}

func appendPile(where, id string) {
	fail := func(err error) {
		if err != nil {
			fmt.Println("broke", err)
			select {}
		}
	}
	ctx := context.Background()
	s, err := store.Open(ctx, where)
	fail(err)
	for n := 0; n < pile; n += batch {
		var marks []trial.Mark
		for k := n; k < n+batch; k++ {
			marks = append(marks, pileMark(k))
		}
		receipts, err := s.Append(ctx, id, marks, time.UnixMilli(5_000_000))
		fail(err)
		var b strings.Builder
		for _, r := range receipts {
			fmt.Fprintf(&b, "%s %d\n", r.ID, r.Seq)
		}
		os.Stdout.WriteString(b.String())
	}
	fmt.Println("all")
}

// TestKilledInTheMiddle kills a process (SIGKILL, nothing is flushed) twenty times
// while it appends 2,000 marks: every mark it acknowledged is there, under the
// number it was told, and none is there twice; what was sent again is taken once.
// That an acknowledged mark survives a pulled plug too rests on synchronous=FULL,
// which TestSQLiteCommitReachesTheDisk holds; a test cannot pull the plug.
func TestKilledInTheMiddle(t *testing.T) {
	if testing.Short() {
		t.Skip("-short: starts and kills twenty processes; make unit runs it")
	}
	where := filepath.Join(t.TempDir(), "terret.db")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	inTheMiddle, unacknowledged := 0, 0
	for round := range 20 {
		id := fmt.Sprint("trial-", round)
		if _, err := s.SaveSetting(t.Context(), id, 0, trial.Setting{Trial: oneHazard(), At: time.UnixMilli(1)}); err != nil {
			t.Fatal(err)
		}
		// The other end of the file is closed, as it is when the machine starts again.
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		told := killed(t, self, where, id, 1+random.IntN(pile/2), time.Duration(random.IntN(4000))*time.Microsecond)
		if s, err = store.Open(t.Context(), where); err != nil {
			t.Fatalf("round %d: after the kill: %v", round, err)
		}
		there, err := s.Marks(t.Context(), id, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		seq := map[string]int64{}
		for i, k := range there {
			if _, twice := seq[k.Mark.ID]; twice || k.Seq != int64(i+1) {
				t.Errorf("round %d: mark %s has number %d in place %d, there before: %v", round, k.Mark.ID, k.Seq, i+1, twice)
			}
			seq[k.Mark.ID] = k.Seq
		}
		for mark, n := range told {
			if seq[mark] != n {
				t.Errorf("round %d: mark %s was acknowledged as number %d and has %d", round, mark, n, seq[mark])
			}
		}
		if len(there)%batch != 0 {
			t.Errorf("round %d: half of a batch is there: %d marks", round, len(there))
		}
		if len(there) < pile {
			inTheMiddle++
		}
		unacknowledged += len(there) - len(told)
		// The device sends all of it again.
		var marks []trial.Mark
		for n := range pile {
			marks = append(marks, pileMark(n))
		}
		if _, err := s.Append(t.Context(), id, marks, time.UnixMilli(6_000_000)); err != nil {
			t.Fatal(err)
		}
		if all, err := s.Marks(t.Context(), id, 0, 0); err != nil || len(all) != pile {
			t.Errorf("round %d: sent again, there are %d marks, want %d (%v)", round, len(all), pile, err)
		}
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	t.Logf("%d of 20 kills came before the last mark; %d marks were kept and not yet acknowledged", inTheMiddle, unacknowledged)
	if inTheMiddle < 18 {
		t.Errorf("only %d of 20 kills came in the middle: the test tests little", inTheMiddle)
	}
}

// killed starts the process, kills it a moment after it has acknowledged so many
// marks, and gives those that it had acknowledged, with their numbers.
func killed(t *testing.T, self, where, id string, after int, moment time.Duration) map[string]int64 {
	t.Helper()
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "TERRET_APPEND_TO="+where, "TERRET_APPEND_TRIAL="+id)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	told := map[string]int64{}
	lines := bufio.NewScanner(out)
	shot := false
	for lines.Scan() {
		mark, n, _ := strings.Cut(lines.Text(), " ")
		seq, err := strconv.ParseInt(n, 10, 64)
		if err != nil {
			if lines.Text() == "all" {
				break
			}
			t.Errorf("the process says %q", lines.Text())
			break
		}
		told[mark] = seq
		if len(told) >= after && !shot {
			shot = true
			time.AfterFunc(moment, func() { cmd.Process.Kill() })
		}
	}
	cmd.Process.Kill() // when it had come to its end already
	cmd.Wait()
	return told
}

// BenchmarkMarks measures how many marks a second are accepted on SQLite with
// synchronous=FULL, as batches come from devices.
func BenchmarkMarks(b *testing.B) {
	for _, size := range []int{1, 5, 20, 100} {
		b.Run(fmt.Sprint("batches of ", size), func(b *testing.B) {
			s, err := store.Open(b.Context(), filepath.Join(b.TempDir(), "terret.db"))
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			if _, err := s.SaveSetting(b.Context(), "x", 0, trial.Setting{Trial: oneHazard(), At: time.UnixMilli(1)}); err != nil {
				b.Fatal(err)
			}
			n := 0
			for b.Loop() {
				marks := make([]trial.Mark, size)
				for i := range marks {
					marks[i] = pileMark(n)
					n++
				}
				if _, err := s.Append(b.Context(), "x", marks, time.UnixMilli(2)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "marks/s")
		})
	}
}

// BenchmarkMarksFromDevices is the same from eight devices at once, five marks a
// batch, while a board follows.
func BenchmarkMarksFromDevices(b *testing.B) {
	s, err := store.Open(b.Context(), filepath.Join(b.TempDir(), "terret.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	if _, err := s.SaveSetting(b.Context(), "x", 0, trial.Setting{Trial: oneHazard(), At: time.UnixMilli(1)}); err != nil {
		b.Fatal(err)
	}
	ctx, stop := context.WithCancel(b.Context())
	defer stop()
	go func() {
		for after := int64(0); ctx.Err() == nil; time.Sleep(20 * time.Millisecond) {
			if all, err := s.Marks(ctx, "x", after, 0); err == nil && len(all) > 0 {
				after = all[len(all)-1].Seq
			}
		}
	}()
	var next, longest atomic.Int64
	b.SetParallelism(4) // times the processors
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			n := int(next.Add(5))
			var marks []trial.Mark
			for k := n; k < n+5; k++ {
				marks = append(marks, pileMark(k))
			}
			begun := time.Now()
			if _, err := s.Append(b.Context(), "x", marks, time.UnixMilli(2)); err != nil {
				b.Error(err)
				return
			}
			took := int64(time.Since(begun))
			for old := longest.Load(); took > old && !longest.CompareAndSwap(old, took); old = longest.Load() {
			}
		}
	})
	b.ReportMetric(float64(next.Load())/b.Elapsed().Seconds(), "marks/s")
	b.ReportMetric(float64(longest.Load())/1e6, "ms-longest")
}
