package web

import (
	"fmt"
	"sync"

	"terret/internal/geom"
	"terret/internal/hazard"
)

// lines remembers the lines of the newest few answers, so that a drag goes on
// from the very way that was shown. The oldest answer is thrown out first.
type lines struct {
	most int

	mu    sync.Mutex
	order []string
	all   map[string]map[string]*drawn // question → way
}

// drawn is one line; a newer answer to the same question has a new one.
type drawn struct{ leads []geom.Vec }

func newLines(most int) *lines { return &lines{most: most, all: map[string]map[string]*drawn{}} }

// key names a question by all but the places of what can be dragged.
func (question question) key(q hazard.Question) string {
	return fmt.Sprintf("%q %v %q %s %q %q %q", q.Plan.Name, q.Plan.Ground.Outline, q.Hazard, question.Turnout, question.Pace, q.Through, q.For)
}

func (l *lines) put(key string, a *hazard.Answer) {
	ways := map[string]*drawn{}
	for i := range a.Routes {
		ways[a.Routes[i].Way] = &drawn{a.Routes[i].Leads()}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if _, ok := l.all[key]; !ok {
		if len(l.order) == l.most {
			delete(l.all, l.order[0])
			l.order = l.order[1:]
		}
		l.order = append(l.order, key)
	}
	l.all[key] = ways
}

// get is nil when there is no such line.
func (l *lines) get(key, way string) *drawn {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all[key][way]
}
