//go:build unix

package store_test

import (
	"os/exec"
	"syscall"
)

// as runs cmd under another account.
func as(cmd *exec.Cmd, uid, gid int) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}}
}
