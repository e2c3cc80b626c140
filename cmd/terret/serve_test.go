package main

import (
	"net"
	"slices"
	"testing"
)

// What is printed to be typed into a browser, here and on a phone. The private
// ranges are RFC 1918's.
func TestAddresses(t *testing.T) {
	var own []net.Addr
	for _, s := range []string{"127.0.0.1/8", "192.168.1.20/24", "203.0.113.9/24", "fe80::1/64", "10.0.0.5/8"} {
		ip, n, err := net.ParseCIDR(s)
		if err != nil {
			t.Fatal(err)
		}
		n.IP = ip
		own = append(own, n)
	}
	for name, c := range map[string]struct {
		listens, here string
		phones        []string
	}{
		"this machine alone":   {"127.0.0.1:8730", "http://127.0.0.1:8730", nil},
		"every address":        {"0.0.0.0:8730", "http://localhost:8730", []string{"http://192.168.1.20:8730", "http://10.0.0.5:8730"}},
		"every address, IPv6":  {"[::]:80", "http://localhost:80", []string{"http://192.168.1.20:80", "http://10.0.0.5:80"}},
		"one address, by name": {"192.168.1.20:8730", "http://192.168.1.20:8730", nil},
	} {
		t.Run(name, func(t *testing.T) {
			a, err := net.ResolveTCPAddr("tcp", c.listens)
			if err != nil {
				t.Fatal(err)
			}
			if got := address(a); got != c.here {
				t.Errorf("here: %s, want %s", got, c.here)
			}
			if got := others(a, own); !slices.Equal(got, c.phones) {
				t.Errorf("on a phone: %v, want %v", got, c.phones)
			}
		})
	}
}
