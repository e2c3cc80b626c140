package book

import (
	"fmt"
	"mime"
	"net/http"
)

// Send answers with a file to be kept under name.
func Send(w http.ResponseWriter, name, kind string, data []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = w.Write(data) // a browser that went away
	return nil
}

// SendPaper sends a paper to be looked at in the browser: "pdf" or "svg".
func SendPaper(w http.ResponseWriter, name, format string, doc []byte) error {
	w.Header().Set("Content-Type", map[string]string{"pdf": "application/pdf", "svg": "image/svg+xml"}[format])
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%s.%s", name, format))
	_, _ = w.Write(doc) // a browser that went away
	return nil
}
