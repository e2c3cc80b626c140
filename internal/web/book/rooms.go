package book

import "net/http"

// roomPage is a tab whose room is not built: it says what will be there and what
// to do meanwhile, and pretends nothing.
type roomPage struct {
	Frame
	Room Room
}

// Room is one such tab.
type Room struct {
	Path, Key, Name string
	Will            string // what will be here
	Meanwhile       string // what to do until then
}

// Room is GET of such a tab.
func (b *Book) Room(r Room) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, _ *http.Request) error {
		return b.Render(w, http.StatusOK, "room", roomPage{b.Frame(r.Key, r.Name), r})
	}
}
