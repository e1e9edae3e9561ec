package journal

import "testing"

// A panic in the journal's goroutine is told, so that relays can be opened, and
// nobody who waits for its end waits for ever.
func TestPanicOfTheWriterIsTold(t *testing.T) {
	var told any
	j := &Journal{o: Options{Panicked: func(v any) { told = v }}, stop: make(chan struct{}), done: make(chan struct{})}
	(&writer{j: j, session: &session{}}).run() // a queue without its options
	<-j.done
	if told == nil {
		t.Error("nobody was told")
	}
}
