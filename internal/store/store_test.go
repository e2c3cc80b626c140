package store_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"terret/internal/store"
	"terret/internal/store/storetest"
)

func open(t *testing.T, where string) storetest.Store {
	t.Helper()
	s, err := store.Open(context.Background(), where)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestSQLite(t *testing.T) {
	storetest.Run(t, func(t *testing.T) (storetest.Store, func() storetest.Store) {
		where := filepath.Join(t.TempDir(), "a folder", "50% & odd?#.db")
		return open(t, where), func() storetest.Store { return open(t, where) }
	})
}

func TestPostgreSQL(t *testing.T) {
	server := startPostgres(t)
	n := 0
	storetest.Run(t, func(t *testing.T) (storetest.Store, func() storetest.Store) {
		n++
		where := server.database(t, n)
		return open(t, where), func() storetest.Store { return open(t, where) }
	})
}

// TestSQLiteCommitReachesTheDisk holds the promise that what was acknowledged
// survives a pulled plug. 2 is FULL (SQLite documentation, PRAGMA synchronous).
func TestSQLiteCommitReachesTheDisk(t *testing.T) {
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for pragma, want := range map[string]string{"synchronous": "2", "journal_mode": "wal", "foreign_keys": "1", "busy_timeout": "5000"} {
		if got := store.Pragma(s, pragma); got != want {
			t.Errorf("PRAGMA %s is %s, want %s", pragma, got, want)
		}
	}
}

// TestLibcIsTheOneSQLiteWasMadeWith: modernc.org/sqlite works only with the
// modernc.org/libc named in its own go.mod.
func TestLibcIsTheOneSQLiteWasMadeWith(t *testing.T) {
	ours := versionIn(t, filepath.Join("..", "..", "go.mod"), "modernc.org/libc")
	cache := os.Getenv("GOMODCACHE")
	if cache == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			t.Fatal(err)
		}
		cache = filepath.Join(home, "go", "pkg", "mod")
	}
	sqlite := versionIn(t, filepath.Join("..", "..", "go.mod"), "modernc.org/sqlite")
	theirs := versionIn(t, filepath.Join(cache, "cache", "download", "modernc.org", "sqlite", "@v", sqlite+".mod"), "modernc.org/libc")
	if ours != theirs {
		t.Errorf("go.mod has modernc.org/libc %s, sqlite %s was made with %s", ours, sqlite, theirs)
	}
}

func versionIn(t *testing.T, file, module string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(strings.TrimPrefix(strings.TrimSpace(line), "require "))
		if len(f) >= 2 && f[0] == module {
			return f[1]
		}
	}
	t.Fatalf("%s names no %s", file, module)
	return ""
}
