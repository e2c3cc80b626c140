// Package testkit is what tests of several packages share. Only tests import it.
package testkit

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Browser starts the machine's Chromium without a window and gives a tab in it;
// both end with the test. Where there is none the test is skipped, loudly; with
// CI=true that is a failure, for then no page would be looked at and nobody
// would know. With -short, as the race detector is run, it is left out: that
// makes the planner ten times slower, and a page driven by one hand meets no
// race. `make unit` runs it.
func Browser(t testing.TB) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("-short: looks at pages in a browser; make unit runs it")
	}
	path := chromium()
	if path == "" {
		const why = "PAGES NOT LOOKED AT: no Chromium was found (Debian: apt-get install chromium)"
		if os.Getenv("CI") == "true" {
			t.Fatal(why)
		}
		fmt.Fprintln(os.Stderr, why)
		t.Skip(why)
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path),
		chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	alloc, stop := chromedp.NewExecAllocator(ctx, opts...)
	tab, closeTab := chromedp.NewContext(alloc)
	t.Cleanup(func() { closeTab(); stop(); cancel() })
	return tab
}

// chromium finds the browser; "" when there is none.
func chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	return ""
}
