package web

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"terret/internal/exchange"
)

// sendTable posts a file with initials; the page it answers with, or leads to, comes
// back.
func sendTable(t *testing.T, do poster, name string, data []byte, by string) (int, string) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := m.WriteField("by", by); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	w := do(ask{method: "POST", path: "/scores/autumn/tables", kind: m.FormDataContentType(), body: b.String()})
	code := w.Code
	if code == 303 {
		w = do(ask{method: "GET", path: w.Header().Get("Location")})
	}
	return code, html.UnescapeString(w.Body.String())
}

// TestEntriesFromASpreadsheet: what is right is in the trial, what is wrong is named by
// its line and nothing is taken.
func TestEntriesFromASpreadsheet(t *testing.T) {
	for name, row := range map[string]struct {
		file, text, by string
		status         int
		says           []string
		entries        int // afterwards
	}{
		"two new ones and one changed":  {"list.csv", "Number;Class;Driver;Horses;Gap cm\n21;P;Nan Moor;Tinker;165\n22;N;Ola Birch;\"Salt; Pepper\";\n9;P;Tom Larch-Hay;Bramble;\n", "JB", 303, []string{"2 entries added, 1 changed", "Nan Moor", "Tom Larch-Hay", "Tinker"}, 8},
		"a class that is not there":     {"list.csv", "number,class,driver\n21,Z,Nan Moor\n22,N,Ola Birch\n", "JB", 422, []string{"nothing of list.csv was brought in", "list.csv:2", `there is no class "Z"`}, 6},
		"a number that is none":         {"list.csv", "number,class,driver\nseven,P,Nan Moor\n", "JB", 422, []string{"list.csv:2", "seven"}, 6},
		"a column nobody knows":         {"list.csv", "number,class,driver,shoe size\n21,P,Nan Moor,4\n", "JB", 422, []string{"shoe size"}, 6},
		"an entry that has sheets goes": {"list.csv", "number,class,driver\n7,N,Hazel Fenn\n", "JB", 422, []string{"sheet of 7", "class N"}, 6},
		"judges' sheets":                {"cones.csv", "entry,course,seconds\n9,C1,150.10\n", "JB", 422, []string{"judges' sheets", "type them at the desk"}, 6},
		"another kind of file":          {"list.ods", "x", "JB", 422, []string{"a file of this ending is not read", ".xlsx"}, 6},
		"no table at all":               {"list.csv", "", "JB", 422, []string{"nothing of list.csv"}, 6},
		"a workbook that is none":       {"list.xlsx", "PK no workbook", "JB", 422, []string{"nothing of list.xlsx"}, 6},
		"nobody writes":                 {"list.csv", "number,class,driver\n21,P,Nan Moor\n", "", 422, []string{"write your initials"}, 6},
	} {
		t.Run(name, func(t *testing.T) {
			do, _, st := scored(t, true)
			code, body := sendTable(t, do, row.file, []byte(row.text), row.by)
			if code != row.status && !(row.status == 422 && code == 400) {
				t.Fatalf("status %d: %s", code, body)
			}
			contains(t, body, row.says...)
			o := openOf(t, st, autumn)
			if n := len(o.setting.Trial.Entries); n != row.entries || (code != 303 && o.setting.Version != 1) {
				t.Errorf("%d entries, version %d", n, o.setting.Version)
			}
			if len(o.wrong) > 0 {
				t.Error(o.wrong)
			}
		})
	}
}

// TestTablesComeBackAsTheyWent: the workbook and the CSV that the pages give out change
// nothing when they are brought in again.
func TestTablesComeBackAsTheyWent(t *testing.T) {
	do, _, st := scored(t, true)
	before := jsonOf(t, openOf(t, st, autumn).setting.Trial)
	for path, name := range map[string]string{"/scores/autumn/tables.xlsx": "all.xlsx", "/scores/autumn/entries.csv": "entries.csv"} {
		w := do(ask{method: "GET", path: path})
		if w.Code != 200 {
			t.Fatalf("%s: %d", path, w.Code)
		}
		if code, body := sendTable(t, do, name, w.Body.Bytes(), "JB"); code != 303 || !strings.Contains(body, "0 entries added, 0 changed") {
			t.Fatalf("%s: %d %s", name, code, body)
		}
		if after := jsonOf(t, openOf(t, st, autumn).setting.Trial); !bytes.Equal(before, after) {
			t.Errorf("%s: it was\n%s\nand is\n%s", name, before, after)
		}
	}
	fresh, _ := house(t, false, straight{})
	w := poster(func(a ask) *httptest.ResponseRecorder { return a.do(fresh) }).post("/scores/new", url.Values{"name": {"Spring"}, "rules": {"three-phase"}, "by": {"JB"}})
	at, _, _ := strings.Cut(w.Header().Get("Location"), "/setup")
	csv := (ask{method: "GET", path: at + "/entries.csv"}).do(fresh).Body.Bytes()
	if one, faults := exchange.ReadCSV("entries.csv", "", csv); one == nil || len(faults) > 0 || len(one.Rows) != 0 {
		t.Errorf("the empty table reads %v %v from %q", one, faults, csv)
	}
}
