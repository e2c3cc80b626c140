package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/store"
	"terret/internal/trial"
)

// dayFile is a trial a command works on, from a file or out of a data folder.
type dayFile struct {
	trial   *trial.Trial // with its sheets
	profile *rules.Profile
	ledger  *trial.Ledger // nil: it is from a file
	wrong   fault.List    // what was kept and cannot be right: it is not in trial
	setting trial.Setting // of a kept one
}

// openData opens the store in a data folder, or at a postgres:// address. A folder
// that holds none is not made: a slip of the pen must not look like an empty store.
func openData(ctx context.Context, data string, begin bool) (*store.Store, error) {
	where := data
	if !strings.HasPrefix(data, "postgres://") && !strings.HasPrefix(data, "postgresql://") {
		where = filepath.Join(data, "terret.db")
		if _, err := os.Stat(where); err != nil && !begin {
			return nil, &fault.Fault{Code: fault.NotFound, Rule: "data", Place: "--data", Message: fmt.Sprintf("%s holds no terret.db", data), Hint: "name the folder that `terret serve --data` keeps its data in"}
		}
	}
	return store.Open(ctx, where)
}

// readKept reads a kept trial with all its sheets.
func readKept(ctx context.Context, st trial.Store, id string) (*dayFile, error) {
	v, err := st.Setting(ctx, id, 0)
	if err != nil {
		if code, _ := fault.CodeOf(err); code == fault.NotFound {
			return nil, &fault.Fault{Code: fault.NotFound, Rule: "trial-id", Place: "trial " + id, Message: "there is no trial of that name in this data folder", Hint: keptNames(ctx, st)}
		}
		return nil, err
	}
	p, err := v.Profile()
	if err != nil {
		return nil, err
	}
	l, _, err := trial.ReadLedger(ctx, st, id)
	if err != nil {
		return nil, err
	}
	t, wrong := l.Sound(v.Trial, p)
	return &dayFile{trial: t, wrong: wrong, profile: p, ledger: l, setting: v}, nil
}

func keptNames(ctx context.Context, st trial.Store) string {
	all, err := st.Trials(ctx)
	if err != nil || len(all) == 0 {
		return "it holds no trials yet"
	}
	var names []string
	for _, v := range all {
		names = append(names, v.ID)
	}
	return "it holds " + strings.Join(names, ", ")
}

// keep keeps a trial under an id: its setting, and its sheets as marks. What was kept
// before stays; only sheets whose ID is not there yet are added. note says why.
func keep(ctx context.Context, st trial.Store, id string, was *dayFile, t *trial.Trial, overlay, by, device, note string, now time.Time) (marks int, err error) {
	setting, all := trial.Split(t, by, device, now)
	base := 0
	changed := true
	if was != nil {
		base = was.setting.Version
		before, err := trial.Encode(was.setting.Trial)
		if err != nil {
			return 0, err
		}
		after, err := trial.Encode(setting)
		if err != nil {
			return 0, err
		}
		changed = string(before) != string(after)
		if overlay == "" {
			overlay = was.setting.Overlay
		}
	}
	if changed {
		if _, err := st.SaveSetting(ctx, id, base, trial.Setting{Trial: setting, Overlay: overlay, Note: note, By: by, At: now}); err != nil {
			if code, _ := fault.CodeOf(err); code == fault.Conflict && was == nil {
				return 0, &fault.Fault{Code: fault.Input, Rule: "trial-id", Place: "trial " + id, Message: "there is a trial of that name in this data folder already", Hint: "--into " + id + " adds tables to it, --id keeps this one under another name"}
			}
			return 0, err
		}
	}
	var fresh []trial.Mark
	for _, m := range all {
		if was == nil {
			fresh = append(fresh, m)
			continue
		}
		if was.ledger.Mark(m.ID) != nil {
			continue
		}
		// What counts for this run and is not in the trial is a sheet that cannot be
		// right: the first that came counts, unless the new one corrects it.
		if old := was.ledger.Counting(m.Sheet.Run()); m.Replaces == "" && old != nil {
			m.Replaces, m.Why = old.ID, "what was kept cannot be right"
		}
		fresh = append(fresh, m)
	}
	receipts, err := st.Append(ctx, id, fresh, now)
	if err != nil {
		return 0, err
	}
	kept := 0
	for _, r := range receipts {
		if r.Fault == nil {
			kept++
		}
	}
	return kept, trial.Refused(receipts)
}

// idOf makes an id of a name: small letters, digits and hyphens.
func idOf(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	id := strings.Trim(b.String(), "-")
	if r := []rune(id); len(r) > 40 {
		id = strings.Trim(string(r[:40]), "-")
	}
	if id == "" {
		return "trial"
	}
	return id
}

// overlayOf is the text of the rule file that a trial names; "" for a built-in
// profile.
func overlayOf(path, name string) (string, error) {
	file := trial.RulesFile(path, name)
	if file == "" {
		return "", nil
	}
	text, err := os.ReadFile(file)
	return string(text), err
}
