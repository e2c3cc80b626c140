package web

import "context"

// place waits for a place among the planners at work; done gives it back.
func (s *server) place(ctx context.Context) (done func(), err error) {
	select {
	case s.solving <- struct{}{}:
		return func() { <-s.solving }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
