package journal

import (
	"path/filepath"
	"strings"
	"sync"
	"unsafe"

	"modernc.org/libc"
	sqlite3 "modernc.org/sqlite/lib"
)

// A card is the file layer under the database with every write in view: it
// counts and records what goes to a folder, and fails or hangs where a test
// says. SQLite finds it under cardVFS.
type card struct {
	mu      sync.Mutex
	ops     []op
	record  bool
	noSync  bool // a sync succeeds without asking the system
	bytes   int64
	logged  int64 // of them in the log
	syncs   int
	count   int               // operations so far
	refuse  func(n int) int32 // result code for operation n, 0 to go on
	before  func(n int)       // called without the lock; may block or panic
	refused int
}

type opKind uint8

const (
	opWrite opKind = iota
	opTruncate
	opSync
)

// op is one operation on a file ("" the database, "-wal" its log).
type op struct {
	kind opKind
	file string
	at   int64
	data []byte
}

const cardVFS = "card"

var cards struct {
	sync.Mutex
	folders map[string]*card  // by folder
	files   map[uintptr]named // open files
	tables  map[uintptr]*methods
	host    uintptr // the system's own layer
}

type named struct {
	card *card
	end  string
}

// methods is a copied method table with the functions that it stood for.
type methods struct {
	table                        uintptr
	write, truncate, sync, close uintptr
}

func at[T any](p uintptr) *T { return (*T)(*(*unsafe.Pointer)(unsafe.Pointer(&p))) }

// pointer is how the library stores a function; function is the way back.
func pointer(f any) uintptr {
	type parts [2]uintptr
	return (*parts)(unsafe.Pointer(&f))[1]
}

func function[F any](p uintptr) F { return *(*F)(unsafe.Pointer(&struct{ p uintptr }{p})) }

type (
	openFunc  = func(*libc.TLS, uintptr, uintptr, uintptr, int32, uintptr) int32
	writeFunc = func(*libc.TLS, uintptr, uintptr, int32, int64) int32
	truncFunc = func(*libc.TLS, uintptr, int64) int32
	syncFunc  = func(*libc.TLS, uintptr, int32) int32
	closeFunc = func(*libc.TLS, uintptr) int32
)

var registerCard = sync.OnceFunc(func() {
	tls := libc.NewTLS()
	cards.folders, cards.files, cards.tables = map[string]*card{}, map[uintptr]named{}, map[uintptr]*methods{}
	cards.host = sqlite3.Xsqlite3_vfs_find(tls, 0)
	size := libc.Tsize_t(unsafe.Sizeof(sqlite3.Tsqlite3_vfs{}))
	mine := libc.Xmalloc(tls, size)
	*at[sqlite3.Tsqlite3_vfs](mine) = *at[sqlite3.Tsqlite3_vfs](cards.host)
	name, err := libc.CString(cardVFS)
	if err != nil {
		panic(err)
	}
	v := at[sqlite3.Tsqlite3_vfs](mine)
	v.FzName, v.FpNext, v.FxOpen = name, 0, pointer(cardOpen)
	if rc := sqlite3.Xsqlite3_vfs_register(tls, mine, 0); rc != 0 {
		panic(rc)
	}
})

// newCard puts a card under a folder.
func newCard(folder string) *card {
	registerCard()
	c := &card{noSync: true}
	cards.Lock()
	defer cards.Unlock()
	cards.folders[folder] = c
	return c
}

func cardOpen(tls *libc.TLS, vfs, name, file uintptr, flags int32, out uintptr) int32 {
	rc := function[openFunc](at[sqlite3.Tsqlite3_vfs](cards.host).FxOpen)(tls, cards.host, name, file, flags, out)
	f := at[sqlite3.Tsqlite3_file](file)
	if rc != 0 || f.FpMethods == 0 || name == 0 {
		return rc
	}
	path := libc.GoString(name)
	end := ""
	if strings.HasSuffix(path, "-wal") {
		end = "-wal"
	}
	cards.Lock()
	defer cards.Unlock()
	c := cards.folders[filepath.Dir(path)]
	if c == nil {
		return rc
	}
	m := cards.tables[f.FpMethods]
	if m == nil {
		was := at[sqlite3.Tsqlite3_io_methods](f.FpMethods)
		m = &methods{write: was.FxWrite, truncate: was.FxTruncate, sync: was.FxSync, close: was.FxClose}
		m.table = libc.Xmalloc(tls, libc.Tsize_t(unsafe.Sizeof(*was)))
		is := at[sqlite3.Tsqlite3_io_methods](m.table)
		*is = *was
		is.FxWrite, is.FxTruncate, is.FxSync, is.FxClose = pointer(cardWrite), pointer(cardTruncate), pointer(cardSync), pointer(cardClose)
		cards.tables[f.FpMethods], cards.tables[m.table] = m, m
	}
	cards.files[file] = named{c, end}
	f.FpMethods = m.table
	return rc
}

// begin counts an operation, records it and says whether it must fail.
func begin(file uintptr, kind opKind, off int64, data uintptr, n int32) (m *methods, c *card, rc int32) {
	cards.Lock()
	who := cards.files[file]
	m = cards.tables[at[sqlite3.Tsqlite3_file](file).FpMethods]
	cards.Unlock()
	c = who.card
	c.mu.Lock()
	c.count++
	count, before := c.count, c.before
	if c.refuse != nil {
		rc = c.refuse(count)
	}
	if kind == opSync {
		c.syncs++
	}
	if rc != 0 {
		c.refused++
	} else {
		if kind == opWrite {
			c.bytes += int64(n)
			if who.end != "" {
				c.logged += int64(n)
			}
		}
		if c.record {
			o := op{kind: kind, file: who.end, at: off}
			if kind == opWrite {
				o.data = append(o.data, unsafe.Slice(at[byte](data), n)...)
			}
			c.ops = append(c.ops, o)
		}
	}
	c.mu.Unlock()
	if before != nil {
		before(count)
	}
	return m, c, rc
}

func cardWrite(tls *libc.TLS, file, data uintptr, n int32, off int64) int32 {
	m, _, rc := begin(file, opWrite, off, data, n)
	if rc != 0 {
		return rc
	}
	return function[writeFunc](m.write)(tls, file, data, n, off)
}

func cardTruncate(tls *libc.TLS, file uintptr, size int64) int32 {
	m, _, rc := begin(file, opTruncate, size, 0, 0)
	if rc != 0 {
		return rc
	}
	return function[truncFunc](m.truncate)(tls, file, size)
}

func cardSync(tls *libc.TLS, file uintptr, flags int32) int32 {
	m, c, rc := begin(file, opSync, 0, 0, 0)
	if rc != 0 || c.noSync {
		return rc
	}
	return function[syncFunc](m.sync)(tls, file, flags)
}

func cardClose(tls *libc.TLS, file uintptr) int32 {
	cards.Lock()
	m := cards.tables[at[sqlite3.Tsqlite3_file](file).FpMethods]
	delete(cards.files, file)
	cards.Unlock()
	return function[closeFunc](m.close)(tls, file)
}

// recorded is the operations so far; the card only adds behind them.
func (c *card) recorded() []op {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.ops[:len(c.ops):len(c.ops)]
}

func (c *card) set(f func(*card)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	f(c)
}
