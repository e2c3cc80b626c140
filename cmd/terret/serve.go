package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"terret/examples/demo"
	"terret/internal/fault"
	"terret/internal/store"
	"terret/internal/web"
	"terret/internal/web/trials"
	"terret/internal/web/turnouts"
)

type serveCommand struct {
	Demo bool   `help:"Begin with the invented demo day. Without --data it is kept in a temporary folder and gone afterwards."`
	Addr string `default:"127.0.0.1:8730" placeholder:"HOST:PORT" help:"Where to listen (127.0.0.1:8730); port 0 picks a free one."`
	Data string `env:"TERRET_DATA" placeholder:"DIR" help:"Folder that keeps plans, turnouts and trials, or a postgres:// address; your own data folder otherwise."`
}

func (serveCommand) Help() string {
	return `Serves the pages and prints their address when they are ready. Nothing leaves this machine and nothing needs the internet. Ctrl-C stops it.

With --addr 0.0.0.0:8730 phones and tablets on the same network can open the pages, and change what is in them: there are no accounts. Use it on a network you trust.

Examples:

  terret serve --demo

  terret serve

  terret serve --addr 127.0.0.1:0 --data ./field-days`
}

// patience is how long requests that are being answered may take once the
// server has been asked to stop.
const patience = 3 * time.Second

func (c serveCommand) Run(s *streams) (err error) {
	host, port, err := net.SplitHostPort(c.Addr)
	if err == nil {
		_, err = strconv.ParseUint(port, 10, 16)
	}
	if err != nil {
		return &fault.Fault{Code: fault.Usage, Rule: "addr", Place: "--addr", Message: fmt.Sprintf("%q is no address", c.Addr), Hint: "write HOST:PORT, such as 127.0.0.1:8730; a port is 0 to 65535"}
	}
	where, passing, err := c.place()
	if err != nil {
		return err
	}
	if passing != "" {
		defer func() { err = errors.Join(err, os.RemoveAll(passing)) }()
	}
	// The port first: a second server on one port must not touch the data.
	l, err := (&net.ListenConfig{}).Listen(s.ctx, "tcp", c.Addr)
	if err != nil {
		if errors.Is(err, os.ErrPermission) || c.Addr != "127.0.0.1:0" {
			return fmt.Errorf("listen on %s: %w (is Terret running already? --addr 127.0.0.1:0 picks a free port)", c.Addr, err)
		}
		return err
	}
	defer l.Close() // a second close is harmless
	st, err := store.Open(s.ctx, where)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()

	config := web.Config{
		Store: st, Records: st, Trials: st, Rotas: st, Prints: st, Sheets: papers{}, Version: edition(),
		Log: slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn})),
	}
	if host != "" {
		config.Hosts = []string{strings.ToLower(host)}
	}
	if c.Demo {
		if config.Demo, err = c.seed(s, st); err != nil {
			return err
		}
	}
	return answer(s, l, web.New(config), passing != "")
}

// answer serves until the program is told to stop.
func answer(s *streams, l net.Listener, h http.Handler, passing bool) error {
	live, hangUp := context.WithCancel(s.ctx)
	defer hangUp()
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		BaseContext:       func(net.Listener) context.Context { return live },
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()

	fmt.Fprintf(s.now, "Terret is at %s\n", address(l.Addr()))
	own, err := net.InterfaceAddrs()
	if err != nil {
		own = nil // it cannot be said then; the pages are there all the same
	}
	for _, where := range others(l.Addr(), own) {
		fmt.Fprintf(s.err, "terret: from other devices on this network: %s\n", where)
	}
	if passing {
		fmt.Fprintln(s.err, "terret: note: the demo is kept in a temporary folder and gone when this stops; --data DIR keeps your work")
	}
	select {
	case err := <-ended:
		return err
	case <-s.ctx.Done():
	}
	stop, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if err := server.Shutdown(stop); err != nil {
		server.Close() // whoever still waits is cut off: the work was told to stop
	}
	<-ended
	return nil
}

// address is what to type into a browser on this machine.
func address(a net.Addr) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return "http://" + a.String()
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// others is what to type on a phone: the machine's own addresses on a private
// network, where the server listens on all of them.
func others(a net.Addr, own []net.Addr) []string {
	host, port, err := net.SplitHostPort(a.String())
	if ip := net.ParseIP(host); err != nil || ip == nil || !ip.IsUnspecified() {
		return nil
	}
	var all []string
	for _, o := range own {
		if n, ok := o.(*net.IPNet); ok && n.IP.IsPrivate() && n.IP.To4() != nil {
			all = append(all, "http://"+net.JoinHostPort(n.IP.String(), port))
		}
	}
	return all
}

// seed puts the demo into an empty store, and gives the id of the plan to open.
func (c serveCommand) seed(s *streams, st *store.Store) (string, error) {
	seeded, err := web.SeedDemo(s.ctx, st, demo.Files, time.Now())
	if err != nil {
		return "", fmt.Errorf("lay out the demo day: %w", err)
	}
	if seeded {
		if err := demo.Keep(s.ctx, st, time.Now()); err != nil {
			return "", fmt.Errorf("lay out the demo day: %w", err)
		}
		return web.DemoPlan, nil
	}
	all, err := st.Plans(s.ctx)
	if err != nil {
		return "", err
	}
	for _, p := range all {
		if p.ID == web.DemoPlan {
			return web.DemoPlan, nil
		}
	}
	s.warn("this data folder holds plans of its own, so the demo was not mixed in; leave --data out to see it")
	return "", nil
}

// place is where the store is, and the temporary folder to remove afterwards.
func (c serveCommand) place() (where, passing string, err error) {
	switch {
	case strings.HasPrefix(c.Data, "postgres://") || strings.HasPrefix(c.Data, "postgresql://"):
		return c.Data, "", nil
	case c.Data != "":
		return filepath.Join(c.Data, "terret.db"), "", nil
	case c.Demo:
		dir, err := os.MkdirTemp("", "terret-demo-")
		return filepath.Join(dir, "terret.db"), dir, err
	}
	dir, err := dataFolder()
	return filepath.Join(dir, "terret.db"), "", err
}

// dataFolder is where a person's data belongs on this kind of machine: on Linux
// and the like by the XDG Base Directory Specification, $XDG_DATA_HOME or
// ~/.local/share.
func dataFolder() (string, error) {
	switch runtime.GOOS {
	case "windows", "darwin", "ios": // there data and settings share a folder
		dir, err := os.UserConfigDir()
		return filepath.Join(dir, "terret"), err
	}
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "terret"), nil
	}
	home, err := os.UserHomeDir()
	return filepath.Join(home, ".local", "share", "terret"), err
}

// The store is what the pages ask for.
var (
	_ web.PlanStore        = (*store.Store)(nil)
	_ turnouts.RecordStore = (*store.Store)(nil)
	_ trials.RotaStore     = (*store.Store)(nil)
)
