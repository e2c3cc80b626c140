package store_test

import (
	"database/sql"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"testing"
)

// postgres is a server of the test's own in a temporary folder.
type postgres struct{ port int }

// startPostgres starts PostgreSQL from the machine's own binaries. Where there
// are none the test is skipped, loudly; with CI=true that is a failure, for
// then half of the contract would go unproven without a word.
func startPostgres(t *testing.T) postgres {
	t.Helper()
	initdb, pgctl := find("initdb"), find("pg_ctl")
	if initdb == "" || pgctl == "" {
		const why = "POSTGRESQL NOT TESTED: initdb and pg_ctl were not found (Debian: apt-get install postgresql)"
		if os.Getenv("CI") == "true" {
			t.Fatal(why)
		}
		fmt.Fprintln(os.Stderr, why)
		t.Skip(why)
	}
	dir, err := os.MkdirTemp("", "pg")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	own(t, dir)

	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()

	data := filepath.Join(dir, "data")
	run(t, dir, initdb, "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-locale", "--no-sync")
	// fsync is off because nobody will miss this database after a power cut.
	options := fmt.Sprintf("-c fsync=off -c listen_addresses=127.0.0.1 -c port=%d -c unix_socket_directories=%s", port, dir)
	run(t, dir, pgctl, "-D", data, "-w", "-l", filepath.Join(dir, "log"), "-o", options, "start")
	t.Cleanup(func() { run(t, dir, pgctl, "-D", data, "-w", "-m", "immediate", "stop") })
	return postgres{port}
}

func (p postgres) address(database string) string {
	return fmt.Sprintf("postgres://postgres@127.0.0.1:%d/%s?sslmode=disable", p.port, database)
}

// database makes an empty database and returns its address.
func (p postgres) database(t *testing.T, n int) string {
	t.Helper()
	db, err := sql.Open("pgx", p.address("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	name := fmt.Sprintf("t%d", n)
	if _, err := db.Exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	return p.address(name)
}

// find looks on the path and where Debian keeps versioned binaries.
func find(name string) string {
	if p, err := exec.LookPath(name); err == nil {
		if q, err := filepath.EvalSymlinks(p); err == nil {
			return q
		}
	}
	all, _ := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if len(all) == 0 {
		return ""
	}
	return all[len(all)-1]
}

// server is the account PostgreSQL runs as: it refuses to run as root.
func server(t *testing.T) (uid, gid int, switched bool) {
	t.Helper()
	if os.Geteuid() != 0 {
		return 0, 0, false
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		t.Fatalf("running as root and there is no account postgres to run the server as: %v", err)
	}
	uid, _ = strconv.Atoi(u.Uid)
	gid, _ = strconv.Atoi(u.Gid)
	return uid, gid, true
}

func own(t *testing.T, dir string) {
	t.Helper()
	if uid, gid, ok := server(t); ok {
		if err := os.Chown(dir, uid, gid); err != nil {
			t.Fatal(err)
		}
	}
}

func run(t *testing.T, dir, name string, args ...string) {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	if uid, gid, ok := server(t); ok {
		as(cmd, uid, gid)
	}
	// To a file: the server inherits its starter's output and would keep a
	// pipe open for ever.
	out, err := os.Create(filepath.Join(t.TempDir(), "out"))
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Run(); err != nil {
		text, _ := os.ReadFile(out.Name())
		t.Fatalf("%s: %v\n%s", filepath.Base(name), err, text)
	}
}
