package ground

import (
	"sync"
	"time"
)

// lives holds the warm planners of drawings that are being dragged: a small
// number, the longest unused thrown out first, and none kept after its idle
// time. Losing one costs a newcomer a few hundred milliseconds and nothing else.
type lives[V any] struct {
	most int
	idle time.Duration
	now  func() time.Time

	mu  sync.Mutex
	all map[string]*held[V]
}

// held is one of them and when it was last asked for.
type held[V any] struct {
	v    V
	used time.Time
}

// live is one session. Its lock is held while a frame is worked out.
type live struct {
	sync.Mutex
	follower Follower // nil until the first frame
	asked    string   // what the follower was made for
	began    *drawn   // the line it began from; nil: none
	way      string   // the way asked for when it began
	now      string   // the way of its last route
	fresh    bool     // its last frame held
	seq      int64    // newest frame seen
}

func newLives[V any](most int, idle time.Duration, now func() time.Time) *lives[V] {
	return &lives[V]{most: most, idle: idle, now: now, all: map[string]*held[V]{}}
}

// get finds or makes the session of that id.
func (l *lives[V]) get(id string) *V {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.now()
	for k, v := range l.all {
		if now.Sub(v.used) > l.idle {
			delete(l.all, k)
		}
	}
	v := l.all[id]
	if v == nil {
		for len(l.all) >= l.most {
			oldest := ""
			for k, o := range l.all {
				if oldest == "" || o.used.Before(l.all[oldest].used) {
					oldest = k
				}
			}
			delete(l.all, oldest)
		}
		v = &held[V]{}
		l.all[id] = v
	}
	v.used = now
	return &v.v
}

func (l *lives[V]) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.all)
}
