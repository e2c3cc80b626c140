package ground

import "sync"

// newest remembers the last few values put into it; the oldest is thrown out
// first. Values are shared: nobody changes one.
type newest[V any] struct {
	most int

	mu    sync.Mutex
	order []string
	all   map[string]V
}

func newNewest[V any](most int) *newest[V] { return &newest[V]{most: most, all: map[string]V{}} }

// get is the zero value when there is none.
func (n *newest[V]) get(key string) V {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.all[key]
}

func (n *newest[V]) put(key string, v V) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if _, ok := n.all[key]; !ok {
		if len(n.order) == n.most {
			delete(n.all, n.order[0])
			n.order = n.order[1:]
		}
		n.order = append(n.order, key)
	}
	n.all[key] = v
}
