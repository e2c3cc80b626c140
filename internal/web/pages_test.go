package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"terret/examples/demo"
	"terret/internal/geom"
	"terret/internal/hazard"
	"terret/internal/plan"
	"terret/internal/sheet"
	"terret/internal/store"
	"terret/internal/web/ground"
)

// noon is when everything happens in these tests.
var noon = time.Date(2026, 10, 3, 12, 0, 0, 0, time.UTC)

// straight is a planner that drives a straight line from In to Out: enough for
// the pages, which only pass on what a planner says.
type straight struct{ none, broken bool }

func (p straight) Routes(_ context.Context, q hazard.Question) (*hazard.Answer, error) {
	h, err := q.Plan.Hazard(q.Hazard)
	if err != nil {
		return nil, err
	}
	if p.broken {
		return nil, errors.New("a cable was pulled")
	}
	a := &hazard.Answer{Hazard: h.Name, Turnout: q.Turnout.Name, Through: q.Through, Routes: []hazard.Route{}}
	if p.none {
		a.NoneBecause = &hazard.Reason{Gate: "B", Needs: 4.1, Has: 3.2, Between: []string{"p7", "r2"}, Text: "It cannot reach B: 4.1 m needed between p7 and r2, 3.2 m there."}
		return a, nil
	}
	from, to := h.In.Mid(), h.Out.Mid()
	for i := range 3 {
		r := hazard.Route{Rank: i + 1, Way: string(rune('x' + i)), Says: "Straight on.", TimeS: 20 + float64(i), LengthM: 70, ClearanceM: 0.31,
			Passes: []hazard.Pass{}, Turns: []hazard.Turn{},
			Tight: []hazard.Tight{{Thing: "p1", Part: "hub", At: hazard.Point{from.X, from.Y}, ClearanceM: 0.31}}}
		for k := range 11 {
			v := from.Lerp(to, float64(k)/10)
			r.Samples = append(r.Samples, hazard.Sample{SM: float64(k) * 7, TS: float64(k) * 2, Lead: hazard.Point{v.X, v.Y}, Axles: []hazard.Point{{v.X, v.Y - 2}}, AxleBearingsDeg: []float64{0}})
		}
		a.Routes = append(a.Routes, r)
	}
	return a, nil
}

func (p straight) Live(q hazard.Question, _ []geom.Vec) (ground.Follower, error) {
	return steady{p, q}, nil
}

// blank draws empty papers that name what they were asked for.
type blank struct{}

func (blank) Draw(_ context.Context, kind string, in sheet.Input, format string) ([]byte, error) {
	ways, of, stakes := 0, string(in.Subject()), 0
	if in.Answer != nil {
		ways = len(in.Answer.Routes)
	}
	if in.Hazard != nil {
		of = in.Hazard.Name
	}
	if in.Course != nil {
		of = in.Course.Name
	}
	if in.Stakes != nil {
		stakes = len(in.Stakes.Stakes)
	}
	return fmt.Appendf(nil, "%s %s %s %s %s %d ways %d stakes %d turnouts %s %s", kind, in.Version, of, in.Paper.Name, format, ways, stakes, len(in.Turnouts), in.Event, in.Date), nil
}

type steady struct {
	p straight
	q hazard.Question
}

func (f steady) Follow(ctx context.Context, p *plan.Plan) (ground.Followed, error) {
	f.q.Plan = p
	a, err := f.p.Routes(ctx, f.q)
	if err != nil || len(a.Routes) == 0 {
		return ground.Followed{Why: "no way"}, err
	}
	return ground.Followed{Route: &a.Routes[0], Fresh: true}, nil
}

// house is a server on a fresh SQLite file, with the demo in it when seeded.
func house(t testing.TB, seeded bool, p ground.Planner) (http.Handler, *store.Store) {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	c := Config{Store: s, Records: s, Trials: s, Rotas: s, Prints: s, Planner: p, Now: func() time.Time { return noon }, Sheets: blank{}, Hosts: []string{"field.example"}, Version: "test"}
	if seeded {
		c.Demo = DemoPlan
		if ok, err := SeedDemo(context.Background(), s, demo.Files, noon); err != nil || !ok {
			t.Fatal(ok, err)
		}
	}
	return New(c), s
}

// ask is one request; the host is localhost unless it says otherwise.
type ask struct {
	method, path, body, kind string
	host, site               string // site: Sec-Fetch-Site
	tag                      string // If-None-Match
}

func (a ask) do(h http.Handler) *httptest.ResponseRecorder {
	r := httptest.NewRequest(a.method, a.path, strings.NewReader(a.body))
	r.Host = "localhost:8080"
	if a.host != "" {
		r.Host = a.host
	}
	if a.kind != "" {
		r.Header.Set("Content-Type", a.kind)
	}
	if a.site != "" {
		r.Header.Set("Sec-Fetch-Site", a.site)
		r.Header.Set("Origin", "https://elsewhere.example")
	}
	if a.tag != "" {
		r.Header.Set("If-None-Match", a.tag)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

const (
	jsonKind = "application/json"
	formKind = "application/x-www-form-urlencoded"
)

// field is a small good plan, field2 one with a post in gate A, pairs one of
// three pairs of cones, as JSON.
const (
	field  = `{"terret":"plan/1","name":"F","ground":{"outline":[[0,0],[40,0],[40,40],[0,40]]},"things":[{"id":"p1","kind":"post","at":[20,20],"radius":0.06}],"hazards":[{"name":"H","marker_radius":0.06,"in":{"right":[12,5],"left":[8,5]},"out":{"right":[28,5],"left":[32,5]},"gates":[{"letter":"A","right":[22,30],"left":[18,30]}]}]}`
	pairs  = `{"terret":"plan/1","name":"P","ground":{"outline":[[0,0],[80,0],[80,40],[0,40]]},"courses":[{"name":"Cones","start":{"right":[5,8],"left":[5,12]},"finish":{"right":[5,32],"left":[5,28]},"gates":[{"number":1,"at":[25,10],"bearing":90},{"number":2,"at":[60,20],"bearing":0},{"number":3,"at":[25,30],"bearing":270}],"cone_radius":0.2,"gap":{"clearance_cm":30},"speed_m_per_min":220,"measure_radius":5}]}`
	field2 = `{"terret":"plan/1","name":"F","ground":{"outline":[[0,0],[40,0],[40,40],[0,40]]},"things":[{"id":"p1","kind":"post","at":[20,30],"radius":0.06}],"hazards":[{"name":"H","marker_radius":0.06,"in":{"right":[12,5],"left":[8,5]},"out":{"right":[28,5],"left":[32,5]},"gates":[{"letter":"A","right":[22,30],"left":[18,30]}]}]}`
)

// TestWhoAsksAndWhatAppears: each row is one request, the status it must have,
// what must appear and what must not. "safe" must appear nowhere.
func TestWhoAsksAndWhatAppears(t *testing.T) {
	for name, row := range map[string]struct {
		ask
		empty  bool // on an empty store
		p      straight
		status int
		has    []string
		hasNot []string
	}{
		"the front of a demo opens its plan":           {ask: ask{method: "GET", path: "/"}, status: 303},
		"the list shows every plan":                    {ask: ask{method: "GET", path: "/ground"}, status: 200, has: []string{"Orchard", "Woodstack", "Workshop", "<svg", `aria-current="page"><span>Ground`, "Version A"}},
		"the empty list offers the next act":           {ask: ask{method: "GET", path: "/ground"}, empty: true, status: 200, has: []string{"no plan yet", "/ground/new", "serve --demo"}, hasNot: []string{"Orchard"}},
		"a drawing has its line, ways and limits":      {ask: ask{method: "GET", path: "/ground/hollowmere-orchard"}, status: 200, has: []string{`id="drawing" data-plan="hollowmere-orchard" data-version="1"`, `class="best"`, "20.0 s", "+1.0 s", "31 cm at p1", "forward driving only", "Not looked at", `id="plan-doc"`, `id="turnouts-doc"`, `id="page-opts"`, "Red on your right", "Dead once driven", ">R</text>", ">L</text>"}},
		"a drawing nothing can drive says why":         {ask: ask{method: "GET", path: "/ground/hollowmere-orchard"}, p: straight{none: true}, status: 200, has: []string{"It cannot reach B: 4.1 m needed"}, hasNot: []string{`class="best"`}},
		"a broken planner leaves the plan":             {ask: ask{method: "GET", path: "/ground/hollowmere-orchard"}, p: straight{broken: true}, status: 200, has: []string{"could not be worked out", "<svg"}, hasNot: []string{"cable"}},
		"a plan that is not there":                     {ask: ask{method: "GET", path: "/ground/nowhere"}, status: 404, has: []string{"Not here", "there is no plan"}},
		"a version that is no number":                  {ask: ask{method: "GET", path: "/ground/hollowmere-orchard?version=x"}, status: 400, has: []string{"no version"}},
		"an odd choice falls back":                     {ask: ask{method: "GET", path: "/ground/hollowmere-orchard?turnout=none&pace=gallop&through=Q&hazard=None"}, status: 200, has: []string{`"through":"D"`, `"pace":""`}},
		"a pace and a letter are kept":                 {ask: ask{method: "GET", path: "/ground/hollowmere-orchard?pace=walk&through=B"}, status: 200, has: []string{`"through":"B"`, `"pace":"walk"`}},
		"a gate for one class is not the others' last": {ask: ask{method: "GET", path: "/ground/workshop"}, status: 200, has: []string{`"through":"E"`, `<option>VSE`}},
		"a gate for one class is that class's last":    {ask: ask{method: "GET", path: "/ground/workshop?for=VSE"}, status: 200, has: []string{`"through":"F"`, `"for":"VSE"`}},
		"turnouts tell what is guessed":                {ask: ask{method: "GET", path: "/turnouts"}, status: 200, has: []string{"Bay four-in-hand", "four-in-hand of horses, four wheels", "Guessed:</b> bend, turning, pace", "125 cm", "Otter", "Check this one", "No check card is kept yet"}},
		"papers link each sheet":                       {ask: ask{method: "GET", path: "/papers"}, status: 200, has: []string{"/papers/hazard-drivers.pdf?", "/papers/hazard-builders.pdf?", "turnout="}},
		"a room that is not built says so":             {ask: ask{method: "GET", path: "/lesson"}, status: 200, has: []string{"Not built yet", "Meanwhile"}, hasNot: []string{"<form", "<table"}},
		"the rules are listed":                         {ask: ask{method: "GET", path: "/rules"}, status: 200, has: []string{"three-phase", "the usual one", "/rules/indoor", "that one counts"}},
		"a profile has its sources":                    {ask: ask{method: "GET", path: "/rules/three-phase"}, status: 200, has: []string{"cones.ball", "read</b>"}},
		"a profile that is not there":                  {ask: ask{method: "GET", path: "/rules/zebra"}, status: 404, has: []string{"no rule profile", "three-phase"}},
		"a page that is not there":                     {ask: ask{method: "GET", path: "/nix"}, status: 404, has: []string{"there is no page here"}},
		"a paper for drivers":                          {ask: ask{method: "GET", path: "/papers/hazard-drivers.pdf?plan=hollowmere-orchard&paper=letter"}, status: 200, has: []string{"hazard-drivers A Orchard US Letter pdf 0 ways"}},
		"a paper with ways":                            {ask: ask{method: "GET", path: "/papers/hazard-clinic.svg?plan=hollowmere-orchard&turnout=06-bay-cob&pace=walk"}, status: 200, has: []string{"hazard-clinic A Orchard A4 svg 3 ways"}},
		"a paper of cones":                             {ask: ask{method: "GET", path: "/papers/cones-drivers.pdf?plan=hollowmere-cones&event=Autumn+day&date=3+October"}, status: 200, has: []string{"cones-drivers A Cones A4 pdf 0 ways 0 stakes 0 turnouts Autumn day 3 October"}},
		"a paper of cones where there are none":        {ask: ask{method: "GET", path: "/papers/cones-drivers.pdf?plan=hollowmere-orchard"}, status: 422, has: []string{"no cones course"}},
		"papers carry event and day":                   {ask: ask{method: "GET", path: "/papers?event=Autumn+day&date=3+October"}, status: 200, has: []string{"event=Autumn+day", "date=3+October", `value="Autumn day"`}},
		"a paper with ways of nobody":                  {ask: ask{method: "GET", path: "/papers/hazard-clinic.svg?plan=hollowmere-orchard"}, status: 404, has: []string{"no turnout"}},
		"a paper on napkins":                           {ask: ask{method: "GET", path: "/papers/hazard-drivers.pdf?plan=hollowmere-orchard&paper=napkin"}, status: 400, has: []string{"a4 or letter"}},
		"a paper of no plan":                           {ask: ask{method: "GET", path: "/papers/hazard-drivers.pdf"}, status: 404},
		"a paper that is not there":                    {ask: ask{method: "GET", path: "/papers/menu.pdf"}, status: 404, has: []string{"no such paper"}},

		"a private address may ask":                 {ask: ask{method: "GET", path: "/ground", host: "192.168.1.20:8080"}, status: 200},
		"a name under .lan may ask":                 {ask: ask{method: "GET", path: "/ground", host: "laptop.lan"}, status: 200},
		"a configured name may ask":                 {ask: ask{method: "GET", path: "/ground", host: "field.example:80"}, status: 200},
		"an IPv6 loopback may ask":                  {ask: ask{method: "GET", path: "/ground", host: "[::1]:8080"}, status: 200},
		"a rebound name may not":                    {ask: ask{method: "GET", path: "/ground", host: "evil.example"}, status: 421, hasNot: []string{"Orchard"}},
		"a public address may not":                  {ask: ask{method: "GET", path: "/ground", host: "203.0.113.7"}, status: 421, hasNot: []string{"Orchard"}},
		"a name that ends like ours may not":        {ask: ask{method: "GET", path: "/ground", host: "notlocal"}, status: 421},
		"another site may look at nothing it posts": {ask: ask{method: "POST", path: "/ground/hollowmere-orchard/copy", kind: formKind, site: "cross-site"}, status: 403},
		"another site may not save":                 {ask: ask{method: "PUT", path: "/api/plans/hollowmere-orchard", kind: jsonKind, site: "cross-site", body: `{}`}, status: 403},
		"a plain form of our own may copy":          {ask: ask{method: "POST", path: "/ground/hollowmere-orchard/copy", kind: formKind}, status: 303},
		"a new plan without a name is marked there": {ask: ask{method: "POST", path: "/ground/new", kind: formKind, body: "name=&width=60&height=40"}, status: 422, has: []string{`id="name-wrong"`, "no name yet"}, hasNot: []string{`id="width-wrong"`}},
		"a new plan of no width is marked there":    {ask: ask{method: "POST", path: "/ground/new", kind: formKind, body: "name=X&width=wide&height=NaN"}, status: 422, has: []string{`id="width-wrong"`, `id="height-wrong"`, `value="X"`}},
		"a new plan is made":                        {ask: ask{method: "POST", path: "/ground/new", kind: formKind, body: "name=Lower+field&width=60,5&height=40"}, status: 303},
		"importing nothing":                         {ask: ask{method: "POST", path: "/ground/import", kind: formKind}, status: 400, has: []string{"no file was chosen"}},

		"solve answers": {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plan":` + field + `,"turnout":"06-bay-cob","seq":7}`}, status: 200, has: []string{`"seq":7`, `"time_s":20`, `"hazard":"H"`}},
		"solve takes a turnout's name for a pace": {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plan":` + field + `,"turnout":"06-bay-cob","pace":"gallop"}`}, status: 404, has: []string{"gallop", "walk"}},
		"solve of a gate with a post in it":       {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plan":` + field2 + `,"turnout":"06-bay-cob"}`}, status: 422, has: []string{`"faults":[{"rule":`, "p1"}},
		"solve without a plan":                    {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"turnout":"06-bay-cob"}`}, status: 422, has: []string{`"place":"plan"`}},
		"solve with an unknown key":               {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plann":1}`}, status: 400, has: []string{"plann"}},
		"solve with an unknown turnout":           {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plan":` + field + `,"turnout":"zebra"}`}, status: 404, has: []string{"zebra"}},
		"solve that is a form":                    {ask: ask{method: "POST", path: "/api/solve", kind: formKind, body: `a=b`}, status: 400, has: []string{"application/json"}},
		"solve when the planner breaks":           {ask: ask{method: "POST", path: "/api/solve", kind: jsonKind, body: `{"plan":` + field + `,"turnout":"06-bay-cob"}`}, p: straight{broken: true}, status: 500, has: []string{"Something broke"}, hasNot: []string{"cable"}},
		"doubts of a guessed turnout":             {ask: ask{method: "POST", path: "/api/doubts", kind: jsonKind, body: `{"plan":` + field + `,"turnout":"06-bay-cob"}`}, status: 200, has: []string{`"guessed":["turning.left","turning.right"]`, `"best_time_s":[20,20]`, `"stops_driving":false`, "The least radius is guessed"}},
		"doubts of nobody":                        {ask: ask{method: "POST", path: "/api/doubts", kind: jsonKind, body: `{"plan":` + field + `}`}, status: 422, has: []string{`"place":"turnout"`}},
		"follow answers":                          {ask: ask{method: "POST", path: "/api/follow", kind: jsonKind, body: `{"session":"s","seq":3,"plan":` + field + `,"turnout":"06-bay-cob"}`}, status: 200, has: []string{`"seq":3`, `"fresh":true`, `"route":{`}},
		"follow without a session":                {ask: ask{method: "POST", path: "/api/follow", kind: jsonKind, body: `{"seq":3,"plan":` + field + `,"turnout":"06-bay-cob"}`}, status: 400, has: []string{"session"}},
		"check finds the post in the gate":        {ask: ask{method: "POST", path: "/api/check", kind: jsonKind, body: `{"plan":` + field2 + `}`}, status: 200, has: []string{`"faults":[{"rule":`, "p1"}},
		"check of a good plan finds nothing":      {ask: ask{method: "POST", path: "/api/check", kind: jsonKind, body: `{"plan":` + field + `}`}, status: 200, has: []string{`"faults":[]`}},
		"keep-out is of the largest":              {ask: ask{method: "POST", path: "/api/keepout", kind: jsonKind, body: `{"plan":` + field + `,"hazard":"H"}`}, status: 200, has: []string{"Bay four-in-hand", `"pieces":[[[`, `"metres":10`}},
		"keep-out of what cannot be driven":       {ask: ask{method: "POST", path: "/api/keepout", kind: jsonKind, body: `{"plan":` + field + `,"hazard":"H"}`}, p: straight{none: true}, status: 200, has: []string{`"pieces":[]`, "Keep everybody out"}},
		"cones are driven":                        {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `,"turnouts":["06-bay-cob","12-bay-four"],"lines":true,"seq":7}`}, status: 200, has: []string{`"seq":7`, `"course_length_m":`, `"gate":"1"`, `"time_allowed_s":`, `"s_m":`, `"checks":[`}},
		"cones without lines":                     {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `,"turnouts":["06-bay-cob"]}`}, status: 200, has: []string{`"samples":[]`}},
		"cones driven by nobody":                  {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `}`}, status: 422, has: []string{`"place":"turnouts"`}},
		"cones of a course that is not there":     {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `,"course":"Zebra","turnouts":["06-bay-cob"]}`}, status: 404, has: []string{"Zebra"}},
		"cones by rules that are a file":          {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `,"rules":"../x.yaml","turnouts":["06-bay-cob"]}`}, status: 404, has: []string{"x.yaml", "three-phase"}},
		"cones at a pace it has not":              {ask: ask{method: "POST", path: "/api/cones/drive", kind: jsonKind, body: `{"plan":` + pairs + `,"pace":"gallop","turnouts":["06-bay-cob"]}`}, status: 404, has: []string{"gallop"}},
		"cones follow":                            {ask: ask{method: "POST", path: "/api/cones/follow", kind: jsonKind, body: `{"session":"s","seq":3,"plan":` + pairs + `,"turnout":"06-bay-cob"}`}, status: 200, has: []string{`"seq":3`, `"fresh":true`, `"line":[[`, `"verdict":`}},
		"cones follow without a session":          {ask: ask{method: "POST", path: "/api/cones/follow", kind: jsonKind, body: `{"seq":3,"plan":` + pairs + `,"turnout":"06-bay-cob"}`}, status: 400, has: []string{"session"}},
		"a multiple of the usual size":            {ask: ask{method: "POST", path: "/api/cones/multiple", kind: jsonKind, body: `{"kind":"U","number":4,"at":[20,20],"bearing_deg":90,"hand":"left","turnout":"06-bay-cob"}`}, status: 200, has: []string{`"part":"c"`, `"kind":"rail"`, `"width_m":4.5`}},
		"a multiple of no size":                   {ask: ask{method: "POST", path: "/api/cones/multiple", kind: jsonKind, body: `{"kind":"oxer","number":4,"at":[20,20],"bearing_deg":90,"hand":"left","turnout":"06-bay-cob","size":{"spacing_m":0}}`}, status: 422, has: []string{"spacing"}},
		"an API that is not there":                {ask: ask{method: "GET", path: "/api/nix"}, status: 404, has: []string{`"faults"`}},
	} {
		t.Run(name, func(t *testing.T) {
			h, _ := house(t, !row.empty, row.p)
			w := row.do(h)
			body := html.UnescapeString(w.Body.String())
			if w.Code != row.status {
				t.Errorf("status %d, want %d\n%s", w.Code, row.status, body)
			}
			for _, want := range row.has {
				if !strings.Contains(body, want) {
					t.Errorf("%q does not appear in\n%s", want, body)
				}
			}
			for _, bad := range append(row.hasNot, "safe", "ZgotmplZ", "goroutine") {
				if strings.Contains(body, bad) {
					t.Errorf("%q appears", bad)
				}
			}
			if csp := w.Header().Get("Content-Security-Policy"); w.Code < 400 && !strings.HasPrefix(csp, "default-src 'self'") {
				t.Errorf("Content-Security-Policy is %q", csp)
			}
		})
	}
}

// TestEveryPageRenders: every template is known to a page and holds together
// with a full fixture; the ones above render most, the rest are here.
func TestEveryPageRenders(t *testing.T) {
	h, _ := house(t, true, straight{})
	seen := map[string]bool{"scores_papers": true} // TestPapersOfATrial
	for name, path := range map[string]string{"list": "/ground", "new": "/ground/new", "room": "/lesson", "drawing": "/ground/workshop", "turnouts": "/turnouts", "papers": "/papers", "keep": "/keep",
		"setting_out": "/ground/workshop/setting-out", "setting_out_arena": "/ground/arena", "survey_as_built": "/ground/workshop/as-built",
		"survey_kept": "/ground/workshop/as-built/kept", "survey_wheel": "/ground/hollowmere-cones/wheel", "cones": "/ground/hollowmere-cones", "rules": "/rules/three-phase"} {
		if w := (ask{method: "GET", path: path}).do(h); w.Code != 200 || !strings.Contains(w.Body.String(), "</html>") {
			t.Errorf("%s: status %d", path, w.Code)
		}
		seen[name] = true
	}
	maps.Copy(seen, turnoutPages(t, h))
	maps.Copy(seen, scorePages(t))
	if w := (ask{method: "GET", path: "/nowhere"}).do(h); w.Code == 404 && strings.Contains(w.Body.String(), "there is no page here") {
		seen["fault"] = true
	}
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "terret.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	for _, name := range bind(Config{Store: st, Trials: st}).Names() {
		if !seen[name] {
			t.Errorf("the template %s is rendered by no test", name)
		}
	}
}

// TestSavingKeepsEveryVersion is one person's work with another's in between.
func TestSavingKeepsEveryVersion(t *testing.T) {
	h, s := house(t, true, straight{})
	put := func(base, plan string) (int, map[string]any) {
		w := ask{method: "PUT", path: "/api/plans/hollowmere-orchard", kind: jsonKind, body: `{"base_version":` + base + `,"note":"moved","plan":` + plan + `}`}.do(h)
		var v map[string]any
		if err := json.Unmarshal(w.Body.Bytes(), &v); err != nil {
			t.Fatalf("%s: %v", w.Body, err)
		}
		return w.Code, v
	}
	if code, v := put("1", field); code != 200 || v["version"] != 2.0 || v["letter"] != "B" {
		t.Errorf("first save: %d %v", code, v)
	}
	if code, v := put("1", field); code != 409 || v["newest"] != 2.0 {
		t.Errorf("stale save: %d %v", code, v)
	}
	if code, v := put("2", field2); code != 200 || len(v["faults"].([]any)) != 1 {
		t.Errorf("an unfinished drawing is kept and its fault told: %d %v", code, v)
	}
	if code, _ := put("3", `{"terret":"plan/1","colour":"red"}`); code != 422 {
		t.Errorf("no plan at all: %d, want 422", code)
	}
	if code, _ := put("0", field); code != 400 {
		t.Errorf("no base: %d, want 400", code)
	}
	all, err := s.PlanVersions(t.Context(), "hollowmere-orchard")
	if err != nil || len(all) != 3 || all[0].Note != "moved" {
		t.Errorf("versions: %+v, %v", all, err)
	}
	w := ask{method: "GET", path: "/ground/hollowmere-orchard?version=1"}.do(h)
	if !strings.Contains(w.Body.String(), "not the newest") || !strings.Contains(w.Body.String(), "apple 1") {
		t.Error("version 1 is no longer to be seen")
	}
	if w := (ask{method: "GET", path: "/ground/hollowmere-orchard"}).do(h); w.Code != 200 || !strings.Contains(w.Body.String(), "checks say why") {
		t.Error("a plan with a fault must still open, and say so")
	}
}

// TestImportIsStrict: a file goes in and out again unchanged, a wrong one is
// shown with its place, and nothing is written.
func TestImportIsStrict(t *testing.T) {
	h, s := house(t, false, straight{})
	send := func(path, name, text string) *httptest.ResponseRecorder {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		f, err := m.CreateFormFile("file", name)
		if err != nil {
			t.Fatal(err)
		}
		io.WriteString(f, text)
		m.Close()
		return ask{method: "POST", path: path, kind: m.FormDataContentType(), body: b.String()}.do(h)
	}
	good := "terret: plan/1\nname: Lower <b>field</b>\nground: {outline: [[0, 0], [60, 0], [60, 40], [0, 40]]}\n"
	w := send("/ground/import", "low.yaml", good)
	if w.Code != 303 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	page := ask{method: "GET", path: w.Header().Get("Location")}.do(h).Body.String()
	if strings.Contains(page, "<b>field</b>") || !strings.Contains(page, "Lower &lt;b&gt;field") {
		t.Error("a name is text, not markup")
	}
	back := ask{method: "GET", path: w.Header().Get("Location") + "/file"}.do(h)
	if p, _, err := plan.Decode("back", back.Body.Bytes()); err != nil || p.Name != "Lower <b>field</b>" {
		t.Errorf("came back as %v, %v", p, err)
	}
	bad := send("/ground/import", "bad.yaml", good+"colour: red\n")
	if bad.Code != 422 || !strings.Contains(bad.Body.String(), "bad.yaml:4") || !strings.Contains(bad.Body.String(), "colour") {
		t.Errorf("status %d, and the place bad.yaml:4 must be told:\n%s", bad.Code, bad.Body)
	}
	if big := send("/ground/import", "big.yaml", strings.Repeat("# \n", 3<<20)); big.Code != 413 {
		t.Errorf("9 MB: status %d, want 413", big.Code)
	}
	if bad := send("/turnouts/import", "t.yaml", "terret: turnout/1\nname: x\n"); bad.Code != 422 {
		t.Errorf("half a turnout: status %d, want 422", bad.Code)
	}
	doc, err := demo.Files.ReadFile("turnouts/06-bay-cob.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if w := send("/turnouts/import", "cob.yaml", string(doc)); w.Code != 303 {
		t.Errorf("a good turnout: status %d", w.Code)
	}
	plans, _ := s.Plans(t.Context())
	turnouts, _ := s.Turnouts(t.Context())
	if len(plans) != 1 || len(turnouts) != 1 {
		t.Errorf("%d plans and %d turnouts were written, want 1 and 1", len(plans), len(turnouts))
	}
}

// TestOldFramesAreDropped: an answer for an older drawing never overtakes.
func TestOldFramesAreDropped(t *testing.T) {
	h, _ := house(t, true, straight{})
	follow := func(seq string) string {
		return ask{method: "POST", path: "/api/follow", kind: jsonKind, body: `{"session":"s","seq":` + seq + `,"plan":` + field + `,"turnout":"06-bay-cob"}`}.do(h).Body.String()
	}
	follow("5")
	if got := follow("4"); !strings.Contains(got, `"fresh":false`) || !strings.Contains(got, `"route":null`) {
		t.Errorf("an old frame was answered with %s", got)
	}
	if got := follow("6"); !strings.Contains(got, `"fresh":true`) {
		t.Errorf("the next frame was answered with %s", got)
	}
}

// TestDemoLeavesWorkAlone: seeding twice, or on a store with somebody's plan in
// it, changes nothing.
func TestDemoLeavesWorkAlone(t *testing.T) {
	_, s := house(t, true, straight{})
	if ok, err := SeedDemo(t.Context(), s, demo.Files, noon); ok || err != nil {
		t.Errorf("seeded again: %v, %v", ok, err)
	}
	turnouts, err := s.Turnouts(t.Context())
	if err != nil || len(turnouts) != 12 {
		t.Errorf("%d turnouts, %v; the demo has 12", len(turnouts), err)
	}
	v, err := s.Plan(t.Context(), DemoPlan, 0)
	if err != nil || v.Plan.Name != "Orchard" || v.Version != 1 {
		t.Errorf("the demo plan is %+v, %v", v, err)
	}
}

// counting counts how often the planner is really asked.
type counting struct {
	straight
	asked *int
}

func (c counting) Routes(ctx context.Context, q hazard.Question) (*hazard.Answer, error) {
	*c.asked++
	return c.straight.Routes(ctx, q)
}

// TestTheSameQuestionIsWorkedOutOnce: the editor's first question is the one
// the page was drawn with; a moved post or another pace is a new one.
func TestTheSameQuestionIsWorkedOutOnce(t *testing.T) {
	asked := 0
	h, s := house(t, true, counting{asked: &asked})
	if w := (ask{method: "GET", path: "/ground/hollowmere-orchard"}).do(h); w.Code != 200 {
		t.Fatal(w.Code)
	}
	v, err := s.Plan(t.Context(), DemoPlan, 0)
	if err != nil {
		t.Fatal(err)
	}
	solve := func(pace string) {
		doc, err := plan.EncodeJSON(v.Plan)
		if err != nil {
			t.Fatal(err)
		}
		body := `{"plan":` + string(doc) + `,"hazard":"Orchard","turnout":"06-bay-cob","pace":"` + pace + `","through":"D","for":"","most":10,"seq":1}`
		if w := (ask{method: "POST", path: "/api/solve", kind: jsonKind, body: body}).do(h); w.Code != 200 {
			t.Fatal(w.Code, w.Body)
		}
	}
	for i, step := range []struct {
		pace string
		move float64
		want int
	}{{"", 0, 1}, {"walk", 0, 2}, {"walk", 0.01, 3}, {"walk", 0, 3}} {
		v.Plan.Things[0].At.X += step.move
		if solve(step.pace); asked != step.want {
			t.Errorf("step %d: the planner was asked %d times, want %d", i, asked, step.want)
		}
	}
}

// TestEveryQuestionIsWrittenDown: docs/api.md names each address below /api/
// that the mux knows, and no other.
func TestEveryQuestionIsWrittenDown(t *testing.T) {
	files, err := filepath.Glob("*/*.go") // each tab has its routes
	if err != nil {
		t.Fatal(err)
	}
	var source []byte
	for _, f := range files {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(f, "_test.go") {
			source = append(source, text...)
		}
	}
	page, err := os.ReadFile(filepath.Join("..", "..", "docs", "api.md"))
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`\.API\("([A-Z]+ /api/[^"]+)"`).FindAllStringSubmatch(string(source), -1) {
		known[m[1]] = true
		if !strings.Contains(string(page), "`"+m[1]+"`") {
			t.Errorf("docs/api.md does not tell of %s", m[1])
		}
	}
	for _, m := range regexp.MustCompile("`([A-Z]+ /api/[^`]+)`").FindAllStringSubmatch(string(page), -1) {
		if !known[m[1]] {
			t.Errorf("docs/api.md tells of %s, which is not there", m[1])
		}
	}
	if len(known) < 6 {
		t.Errorf("only %d addresses found", len(known))
	}
}

// TestNoPapersWithoutSheets: an edition that draws none offers none.
func TestNoPapersWithoutSheets(t *testing.T) {
	_, s := house(t, true, straight{})
	h := New(Config{Store: s, Planner: straight{}})
	for _, path := range []string{"/papers", "/ground/hollowmere-orchard"} {
		if w := (ask{method: "GET", path: path}).do(h); w.Code != 200 || strings.Contains(w.Body.String(), ".pdf") {
			t.Errorf("%s offers papers: status %d", path, w.Code)
		}
	}
}
