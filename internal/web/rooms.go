package web

import "net/http"

// roomPage is a tab whose room is not built: it says what will be there and what
// to do meanwhile, and pretends nothing.
type roomPage struct {
	Frame
	Room room
}

// room is one such tab.
type room struct {
	Path, Key, Name string
	Will            string // what will be here
	Meanwhile       string // what to do until then
}

var rooms = []room{
	{"/lesson", "lesson", "Lesson",
		"Here a plan will go on the wall, letter by letter, and each driver will get a page of where the seconds went.",
		"Not built yet. Meanwhile open a drawing on the Ground tab and play a drive there: gates go dead as they are driven."},
}

// room is GET of such a tab.
func (s *server) room(r room) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, _ *http.Request) error {
		return s.render(w, http.StatusOK, "room", roomPage{s.frame(r.Key, r.Name), r})
	}
}
