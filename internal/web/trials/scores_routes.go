package trials

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"terret/internal/fault"
	"terret/internal/trial"
	"terret/internal/web/book"
)

// scoreRoutes are the pages of the Scores tab. Without a store for trials the tab
// says so and the pages below it are not there.
func (s *server) scoreRoutes() {
	if s.opened == nil {
		s.Page("GET /scores", s.Room(book.Room{Path: "/scores", Key: "scores", Name: "Scores", Will: "Here placings are posted, each number with its working.", Meanwhile: "This program was started without a place to keep trials. Keep the sheets together and add them up by hand."}))
		return
	}
	s.Page("GET /scores", s.scoreList)
	s.Page("GET /scores/new", s.scoreNew)
	s.Page("POST /scores/new", s.scoreBegin)
	s.Page("POST /scores/import", s.scoreImport)
	s.on("GET /scores/{id}", s.scoreTrial)
	s.changeRoutes()
	s.on("GET /scores/{id}/tables", s.scoreTables)
	s.on("POST /scores/{id}/tables", s.scoreTablesTake)
	s.on("GET /scores/{id}/tables.xlsx", s.scoreTablesFile)
	s.on("GET /scores/{id}/entries.csv", s.scoreEntriesFile)
	s.on("GET /scores/{id}/setup", s.scoreSetup)
	s.on("POST /scores/{id}/rules", s.scoreRules)
	s.on("POST /scores/{id}/status", s.scoreStatus)
	s.on("GET /scores/{id}/file", s.scoreFile)
	s.on("GET /scores/{id}/desk", s.scoreDesk)
	s.on("POST /scores/{id}/desk", s.scoreDeskKeep)
	s.on("POST /scores/{id}/undo", s.scoreUndo)
	s.on("GET /scores/{id}/reading", s.scoreReading)
	s.on("POST /scores/{id}/reading", s.scoreReadingKeep)
	s.on("GET /scores/{id}/number/{n}", s.scoreNumber)
	s.on("GET /scores/{id}/placings", s.scorePlacings)
	s.on("POST /scores/{id}/placings", s.scorePost)
	s.on("GET /scores/{id}/board", s.scoreBoard)
	s.on("GET /scores/{id}/results", s.scoreResults)
	s.on("GET /scores/{id}/results.csv", s.scoreCSV)
	s.on("GET /scores/{id}/results.xlsx", s.scoreXLSX)
	s.on("GET /scores/{id}/results.json", s.scoreJSON)
	s.on("GET /scores/{id}/queries", s.scoreQueries)
	s.on("POST /scores/{id}/queries", s.scoreQueryKeep)
	s.on("POST /scores/{id}/replies", s.scoreReplyKeep)
	s.on("GET /scores/{id}/slip", s.scoreSlip)
	s.on("GET /scores/{id}/log", s.scoreLog)
	s.on("GET /scores/{id}/papers", s.scorePapers)
	s.on("GET /scores/{id}/papers/{sheet}", s.scorePaper)
}

// trialHead is what every page of one trial shows at its top.
type trialHead struct {
	book.Frame
	ID, Name string
	Here     string // which of its pages
	Trouble  fault.List
	LeftOff  fault.List // marks that cannot be right and are not counted
	Disputes []dispute  // runs with two sheets
	By       string     // who wrote last in this browser
}

func (s *server) trialHead(r *http.Request, t *openTrial, here, title string) trialHead {
	return trialHead{Frame: s.Frame("scores", title+": "+t.setting.Name), ID: t.id, Name: t.setting.Name, Here: here, Trouble: t.trouble, LeftOff: t.wrong, Disputes: t.disputes(), By: writer(r)}
}

// Rooms are the pages of one trial.
func (h trialHead) Rooms() []book.Tab {
	at := "/scores/" + url.PathEscape(h.ID)
	return []book.Tab{{Name: "Entries", Path: at, Key: "entries"}, {Name: "Classes and courses", Path: at + "/setup", Key: "setup"}, {Name: "Desk", Path: at + "/desk", Key: "desk"}, {Name: "Second reading", Path: at + "/reading", Key: "reading"}, {Name: "Placings", Path: at + "/placings", Key: "placings"}, {Name: "Board", Path: at + "/board", Key: "board"}, {Name: "Queries", Path: at + "/queries", Key: "queries"}, {Name: "Log", Path: at + "/log", Key: "log"}, {Name: "Papers", Path: at + "/papers", Key: "papers"}}
}

// writerCookie remembers in one browser who writes there, so that the initials are
// typed once.
const writerCookie = "terret-writer"

func writer(r *http.Request) string {
	c, err := r.Cookie(writerCookie)
	if err != nil {
		return ""
	}
	by, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return by
}

func rememberWriter(w http.ResponseWriter, by string) {
	http.SetCookie(w, &http.Cookie{Name: writerCookie, Value: url.QueryEscape(by), Path: "/", HttpOnly: true, SameSite: http.SameSiteLaxMode, MaxAge: 7 * 24 * 3600})
}

// form reads a form of a score page; none is large.
func form(w http.ResponseWriter, r *http.Request) (url.Values, error) {
	if err := book.Posted(w, r, 256<<10); err != nil {
		return nil, err
	}
	for k := range r.PostForm {
		for i, v := range r.PostForm[k] {
			text, err := typedText(k, v)
			if err != nil {
				return nil, err
			}
			r.PostForm[k][i] = text
		}
	}
	return r.PostForm, nil
}

// typedText is what was typed into a box, without blanks round it. The error is a
// fault when it is no text that can be kept and come back.
func typedText(box, typed string) (string, error) {
	text := strings.TrimSpace(strings.ReplaceAll(typed, "\r\n", "\n"))
	wrong := func(message, hint string) (string, error) {
		return "", &fault.Fault{Code: fault.Input, Rule: "form", Place: box, Message: message, Hint: hint}
	}
	switch {
	case len(text) > 4000:
		return wrong("the text is too long", "4000 letters at most")
	case !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }):
		return wrong("a sign stands there that cannot be written", "take it out; it may have come along when the text was pasted")
	}
	return text, nil
}

// newMark begins a mark with its ID; a page makes it when it is drawn, so that a
// form sent twice is one mark.
func newMark() string { return rand.Text() }

// mark is a mark of this moment, written at the laptop.
func (s *server) mark(id, by string) trial.Mark {
	return trial.Mark{ID: id, At: s.Now().UnixMilli(), By: by, Device: "desk"}
}

// nameless is the fault of a form that does not say who wrote it.
func nameless(by string) string {
	switch {
	case by == "":
		return "write your initials; every mark says who wrote it"
	case len(by) > 60:
		return "initials or a name are enough, 60 letters at most"
	}
	return ""
}

// clockTime is a time of day as it is read on a wall.
func clockTime(ms int64) string { return time.UnixMilli(ms).Local().Format("15:04") }

// seeOther goes to another page of the trial after something was done.
func seeOther(w http.ResponseWriter, r *http.Request, t *openTrial, page string, q url.Values) error {
	to := "/scores/" + url.PathEscape(t.id)
	if page != "" {
		to += "/" + page
	}
	if len(q) > 0 {
		to += "?" + q.Encode()
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// numbers writes numbers of entries, parted by commas.
func numbers(all []int) string {
	texts := make([]string, len(all))
	for i, n := range all {
		texts[i] = fmt.Sprint(n)
	}
	return strings.Join(texts, ", ")
}
