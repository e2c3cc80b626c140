package web

import (
	"sync"

	"terret/internal/hazard"
)

// answers remembers the newest few answers for kept versions, which never
// change. The oldest is thrown out first.
type answers struct {
	most int

	mu    sync.Mutex
	order []string
	all   map[string]*hazard.Answer
}

func newAnswers(most int) *answers { return &answers{most: most, all: map[string]*hazard.Answer{}} }

func (a *answers) get(key string) *hazard.Answer {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.all[key]
}

func (a *answers) put(key string, v *hazard.Answer) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if _, ok := a.all[key]; !ok {
		if len(a.order) == a.most {
			delete(a.all, a.order[0])
			a.order = a.order[1:]
		}
		a.order = append(a.order, key)
	}
	a.all[key] = v
}
