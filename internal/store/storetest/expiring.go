package storetest

import (
	"context"
	"sync"
)

// expiring is a context that ends when its error has been asked for so many times:
// a caller who leaves in the middle of the work, at the same point each time.
type expiring struct {
	context.Context
	mu   sync.Mutex
	left int
	done chan struct{}
}

func (e *expiring) Done() <-chan struct{} {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.left--; e.left == 0 {
		close(e.done)
	}
	return e.done
}

func (e *expiring) Err() error {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.left <= 0 {
		return context.Canceled
	}
	return nil
}
