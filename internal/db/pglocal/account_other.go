//go:build !unix

package pglocal

import (
	"errors"
	"os"
	"syscall"
)

// Without unix sockets and file locks the server is not run on this system: set DATABASE_URL instead.
var errUnsupported = errors.New("the built-in database runs on unix systems only: set DATABASE_URL to a PostgreSQL server")

const noFollow = 0

type account struct {
	name     string
	switched bool
}

func chooseAccount(_, _ string) (account, error)     { return account{}, errUnsupported }
func (account) attributes(bool) *syscall.SysProcAttr { return nil }
func (account) own(string) error                     { return errUnsupported }
func (account) ownAll(string) error                  { return errUnsupported }
func (account) adopt(string) error                   { return errUnsupported }
func (account) ownsPrivately(string) bool            { return false }
func (account) canReach(string) error                { return errUnsupported }
func takeLock(string) (*os.File, error)              { return nil, errUnsupported }
func interrupt(int) error                            { return errUnsupported }
func quit(int) error                                 { return errUnsupported }
func whose(int, string) owner                        { return nobody }
func (account) makeFolder(string) error              { return errUnsupported }
func (account) ownFile(*os.File) error               { return errUnsupported }
