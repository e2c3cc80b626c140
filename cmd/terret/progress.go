package main

import (
	"fmt"
	"sync"
	"time"
)

// quiet is how long a command works before it says that it does, and how often
// it says so again.
const quiet = time.Second

// progress says on standard error how far the work has come, from one second
// on. Its report may be called from several goroutines.
func (s *streams) progress(doing string) func(done, of int, what string) {
	return s.progressBy(doing, time.Now)
}

// progressBy is progress by a clock of the caller's.
func (s *streams) progressBy(doing string, clock func() time.Time) func(done, of int, what string) {
	var mu sync.Mutex
	next := clock().Add(quiet)
	return func(done, of int, what string) {
		mu.Lock()
		defer mu.Unlock()
		now := clock()
		if now.Before(next) {
			return
		}
		next = now.Add(quiet)
		if of > 0 {
			fmt.Fprintf(s.err, "terret: %s: %d of %d, %s\n", doing, done, of, what)
		} else {
			fmt.Fprintf(s.err, "terret: %s: %s\n", doing, what)
		}
	}
}
