// Package house holds tests of the whole tree and no code: which package may
// import which, how long a file may be, and that every requirement of SAFETY.md
// names a test that exists.
package house
