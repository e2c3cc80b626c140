// Command terret is the whole program: the pages (terret serve) and every
// command for the terminal and for scripts.
//
// This package only wires. One file holds one command; what a command works out
// lives in internal/, and what every command shares (exit statuses, answers,
// progress) is in run.go, answer.go and progress.go. The shapes of the answers
// are the contract of docs/files.md.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}
