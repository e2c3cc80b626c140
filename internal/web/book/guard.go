package book

import (
	"errors"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"slices"
	"strings"

	"terret/internal/fault"
)

// policy lets a page load from this server alone. Nothing is inline.
const policy = "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'; img-src 'self' data:"

// headers sets what every answer carries.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cache-Control", "no-store") // assets say otherwise
		next.ServeHTTP(w, r)
	})
}

// knownHost answers only requests for a name this server can have: localhost,
// a loopback, private or link-local address, a name under .local or .lan, or one
// of more. Without it any web page could point its own name at the laptop and
// read everything (DNS rebinding).
func (b *Book) knownHost(more []string) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if !hostKnown(r.Host, more) {
				b.Log.Warn("turned away a request for a name that is not ours", "host", r.Host)
				http.Error(w, "This is Terret, and it does not answer to that name. Use the address it printed when it started.", http.StatusMisdirectedRequest)
				return
			}
			next.ServeHTTP(w, r)
		})
	}
}

func hostKnown(host string, more []string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.TrimSuffix(strings.Trim(name, "[]"), "."))
	if ip, err := netip.ParseAddr(name); err == nil {
		ip = ip.Unmap()
		return ip.IsLoopback() || ip.IsPrivate() || ip.IsLinkLocalUnicast() || slices.Contains(more, name)
	}
	return name == "localhost" || strings.HasSuffix(name, ".localhost") ||
		strings.HasSuffix(name, ".local") || strings.HasSuffix(name, ".lan") || slices.Contains(more, name)
}

// sameOrigin turns away changes that another site asks for.
func (b *Book) sameOrigin(next http.Handler) http.Handler {
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b.Log.Warn("turned away a change asked for by another site", "origin", r.Header.Get("Origin"))
		http.Error(w, "That came from another site, so nothing was changed. Open the page here and try again.", http.StatusForbidden)
	}))
	return guard.Handler(next)
}

// recovered turns a panic into one line for the person and a full one in the
// log; the server goes on.
func (b *Book) recovered(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			v := recover()
			if v == nil {
				return
			}
			if err, ok := v.(error); ok && errors.Is(err, http.ErrAbortHandler) {
				panic(v)
			}
			b.Log.Error("a page broke", "path", r.URL.Path, "why", v, "stack", string(debug.Stack()))
			if strings.HasPrefix(r.URL.Path, "/api/") {
				writeFaults(w, http.StatusInternalServerError, brokeList())
				return
			}
			http.Error(w, brokeWords, http.StatusInternalServerError)
		}()
		next.ServeHTTP(w, r)
	})
}

const brokeWords = "Something broke here, and it is Terret's fault, not yours. What was kept is still kept."

func brokeList() fault.List {
	return fault.List{{Rule: "broke", Message: brokeWords, Hint: "go back and try once more"}}
}
