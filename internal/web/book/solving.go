package book

import "context"

// Place waits for a place among the planners at work; done gives it back.
func (b *Book) Place(ctx context.Context) (done func(), err error) {
	select {
	case b.solving <- struct{}{}:
		return func() { <-b.solving }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
