// Package socket is the way to the running daemon from its own board: HTTP and
// JSON over a local unix socket.
//
// Who can open the socket stands at the board: every act that comes through it
// has the place Board, which may reset what the page may not. The rights of the
// socket's file (0660) are the only lock. The package decides nothing; whether
// an act is allowed is the controller's answer.
package socket
