package trials

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"sync"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// openTrials holds the trials that are being worked on in memory: a ledger and a
// board each, read from the store when first asked for and brought up to date at
// every use. What another program writes into the same store is seen too.
type openTrials struct {
	store trial.Store

	mu  sync.Mutex
	all map[string]*openTrial
}

func newOpenTrials(s trial.Store) *openTrials {
	return &openTrials{store: s, all: map[string]*openTrial{}}
}

// openTrial is one of them. Everything in it is used with mu held.
type openTrial struct {
	store trial.Store
	id    string

	mu      sync.Mutex
	setting trial.Setting // newest; Version 0: not read yet
	profile *rules.Profile
	ledger  *trial.Ledger
	seq     int64        // of the last mark in the ledger
	board   *trial.Board // nil: trouble says why nothing can be scored
	trouble fault.List   // of the trial itself
	wrong   fault.List   // marks that cannot be right and are left off the board
}

// get is the open trial of an id; nothing is read yet.
func (o *openTrials) get(id string) *openTrial {
	o.mu.Lock()
	defer o.mu.Unlock()
	t := o.all[id]
	if t == nil {
		t = &openTrial{store: o.store, id: id}
		o.all[id] = t
	}
	return t
}

// forget lets go of one that is not there after all.
func (o *openTrials) forget(id string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	delete(o.all, id)
}

// refresh brings a trial up to date with the store.
func (t *openTrial) refresh(ctx context.Context) error {
	newest, err := t.store.Version(ctx, t.id)
	if err != nil {
		return err
	}
	if newest == t.setting.Version {
		return t.follow(ctx)
	}
	setting, err := t.store.Setting(ctx, t.id, 0)
	if err != nil {
		return err
	}
	ledger, seq, err := trial.ReadLedger(ctx, t.store, t.id)
	if err != nil {
		return err
	}
	profile, err := setting.Profile()
	if l := book.FaultsOf(err); err != nil && l == nil {
		return err
	} else {
		t.trouble = l
	}
	t.setting, t.profile, t.ledger, t.seq = setting, profile, ledger, seq
	t.rebuild()
	return nil
}

// rebuild makes the board anew from the ledger.
func (t *openTrial) rebuild() {
	t.board, t.wrong = nil, nil
	if t.profile == nil {
		return
	}
	board, wrong, err := t.ledger.Open(t.setting.Trial, t.profile)
	t.board, t.wrong, t.trouble = board, wrong, book.FaultsOf(err)
	if err != nil && t.trouble == nil {
		t.trouble = fault.List{{Code: fault.Input, Rule: "trial", Message: err.Error()}}
	}
}

// follow takes the marks that came since.
func (t *openTrial) follow(ctx context.Context) error {
	before := t.ledger.Len()
	seq, err := t.ledger.ReadOn(ctx, t.store, t.id, t.seq)
	t.seq = seq
	if err != nil {
		return err
	}
	if t.board == nil || t.ledger.Len() == before {
		return nil
	}
	// Marks that cannot be right are few: then all of them are looked at anew.
	if t.wrong != nil || t.board.Follow(t.ledger, before) != nil {
		t.rebuild()
	}
	return nil
}

// keep writes marks and counts them. The error is a fault when one is refused.
func (t *openTrial) keep(ctx context.Context, now time.Time, marks ...trial.Mark) error {
	receipts, err := t.store.Append(ctx, t.id, marks, now)
	if err != nil {
		return err
	}
	return errors.Join(t.follow(ctx), trial.Refused(receipts))
}

// now is the trial with the sheets and statuses that count.
func (t *openTrial) now() *trial.Trial { return t.ledger.Trial(t.setting.Trial) }

// answer is the scores as they stand; nil when nothing can be scored.
func (t *openTrial) answer() *trial.Answer {
	if t.board == nil {
		return nil
	}
	return t.board.Answer()
}

// entry finds an entry of the setting; nil when there is none.
func (t *openTrial) entry(n int) *trial.Entry {
	for i := range t.setting.Trial.Entries {
		if e := &t.setting.Trial.Entries[i]; e.Number == n {
			return e
		}
	}
	return nil
}

// class finds a class; nil when there is none.
func (t *openTrial) class(id string) *trial.Class {
	for i := range t.setting.Trial.Classes {
		if c := &t.setting.Trial.Classes[i]; c.ID == id {
			return c
		}
	}
	return nil
}

// heldAnswer is an answer that is written down first and sent when the trial is
// free again: a phone with a bad line must not keep the desk waiting.
type heldAnswer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (h *heldAnswer) Header() http.Header { return h.header }
func (h *heldAnswer) WriteHeader(status int) {
	if h.status == 0 {
		h.status = status
	}
}

func (h *heldAnswer) Write(b []byte) (int, error) {
	h.WriteHeader(http.StatusOK)
	return h.body.Write(b)
}

func (h *heldAnswer) send(w http.ResponseWriter) {
	for k, v := range h.header {
		w.Header()[k] = v
	}
	h.WriteHeader(http.StatusOK)
	w.WriteHeader(h.status)
	_, _ = h.body.WriteTo(w) // a browser that went away
}

// withTrial calls f with a trial, up to date and to itself. Fault NotFound when there
// is none of that id.
func (s *server) withTrial(ctx context.Context, id string, f func(*openTrial) error) error {
	t := s.opened.get(id)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := t.refresh(ctx); err != nil {
		if code, ok := fault.CodeOf(err); ok && code == fault.NotFound {
			s.opened.forget(id)
			return &fault.Fault{Code: fault.NotFound, Rule: "trial-id", Place: "trial " + id, Message: "there is no trial of that name here", Hint: "choose one on the Scores page"}
		}
		return err
	}
	return f(t)
}

// onTrial serves f with the trial in the address, up to date and to itself.
func (s *server) onTrial(f func(http.ResponseWriter, *http.Request, *openTrial) error) book.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		h := &heldAnswer{header: http.Header{}}
		if err := s.withTrial(r.Context(), r.PathValue("id"), func(t *openTrial) error { return f(h, r, t) }); err != nil {
			return err
		}
		h.send(w)
		return nil
	}
}
