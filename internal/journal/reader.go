package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"

	sqlite3 "modernc.org/sqlite/lib"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// Reader reads a journal as it stood when it was opened, also while a daemon
// writes it. Keep it open for a short time only: an open reader holds back the
// writer's log from being emptied. It is a verify.Source.
type Reader struct {
	path string
	db   *sql.DB
	conn *sql.Conn
}

// OpenReader opens the journal at path for reading and changes nothing in it.
func OpenReader(path string) (*Reader, error) { return openReader(path, "") }

func openReader(path, vfs string) (*Reader, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("opening the journal: %w", err)
	case info.IsDir():
		return nil, fmt.Errorf("opening the journal: %s is a folder; give the file in it", path)
	}
	// Without a log nobody writes, and then the file can be read as it is, also
	// on a medium that cannot be written, and no file is made beside it.
	mode := "ro"
	if _, err := os.Stat(path + "-wal"); errors.Is(err, os.ErrNotExist) {
		mode = "immutable"
	}
	return openMode(path, vfs, mode)
}

func openMode(path, vfs, mode string) (*Reader, error) {
	ctx := context.Background()
	db, conn, err := connect(ctx, path, vfs, mode)
	if err != nil {
		return nil, err
	}
	r := &Reader{path: path, db: db, conn: conn}
	version, err := r.begin(ctx)
	if err == nil && version == 0 {
		err = fmt.Errorf("%s: %w: it is empty", path, ErrForeign)
	}
	if err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// begin takes the snapshot.
func (r *Reader) begin(ctx context.Context) (int, error) {
	for _, q := range []string{"PRAGMA busy_timeout=2000", "PRAGMA trusted_schema=OFF", "BEGIN"} {
		if _, err := r.conn.ExecContext(ctx, q); err != nil {
			return 0, fmt.Errorf("opening the journal %s: %w", r.path, err)
		}
	}
	return identify(ctx, r.conn, r.path)
}

// Close ends the reading.
func (r *Reader) Close() error { return errors.Join(r.conn.Close(), r.db.Close()) }

// Rows gives every row in order.
func (r *Reader) Rows(f func(verify.Row) error) (err error) {
	rows, err := r.conn.QueryContext(context.Background(), "SELECT seq, body, leaf FROM entry ORDER BY seq")
	if err != nil {
		return fmt.Errorf("reading the entries of %s: %w", r.path, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var seq int64
		var body, leaf sql.RawBytes
		if err := rows.Scan(&seq, &body, &leaf); err != nil {
			return fmt.Errorf("reading the entries of %s: %w", r.path, err)
		}
		if err := f(verify.Row{Seq: uint64(seq), Body: body, Leaf: leaf}); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("reading the entries of %s: %w", r.path, err)
	}
	return nil
}

// Entries gives every entry that was not thinned, in the order of writing.
func (r *Reader) Entries(f func(*entry.Entry) error) error { return entries(r, f) }

// Documents decodes the documents of one topic, in order, and leaves the
// readings of months alone: their blocks are not taken apart.
func (r *Reader) Documents(topic string, f func(*entry.Entry, *entry.Document) error) error {
	return r.Rows(func(row verify.Row) error {
		if row.Body == nil {
			return nil
		}
		kind, _, err := entry.Peek(row.Body)
		if err != nil {
			return fmt.Errorf("entry %d: %w; see what `soakwarden journal verify` says", row.Seq, err)
		}
		if kind != entry.KindDocument {
			return nil
		}
		e, err := entry.Decode(row.Body)
		if err != nil {
			return fmt.Errorf("entry %d: %w; see what `soakwarden journal verify` says", row.Seq, err)
		}
		if d, ok := e.Body.(*entry.Document); ok && d.Topic == topic {
			return f(&e, d)
		}
		return nil
	})
}

// entries decodes the rows of any source.
func entries(src verify.Source, f func(*entry.Entry) error) error {
	return src.Rows(func(row verify.Row) error {
		if row.Body == nil {
			return nil
		}
		e, err := decodeRow(row)
		if err != nil {
			return err
		}
		return f(e)
	})
}

func decodeRow(row verify.Row) (*entry.Entry, error) {
	e, err := entry.Decode(row.Body)
	if err != nil {
		return nil, fmt.Errorf("entry %d: %w; see what `soakwarden journal verify` says", row.Seq, err)
	}
	return &e, nil
}

// Tip is the stored end of the chain.
func (r *Reader) Tip() (verify.Tip, error) { return readTip(context.Background(), r.conn) }

func readTip(ctx context.Context, conn *sql.Conn) (verify.Tip, error) {
	var t verify.Tip
	var size int64
	err := conn.QueryRowContext(ctx, "SELECT size, root, frontier FROM tip").Scan(&size, &t.Root, &t.Frontier)
	if err != nil {
		return t, fmt.Errorf("reading the chain head: %w", err)
	}
	t.Size = uint64(size)
	return t, nil
}

// Index is what the file notes beside its entries.
func (r *Reader) Index() (verify.Index, error) {
	x := verify.Index{States: map[string]uint64{}, Runs: map[uint32]uint64{}}
	err := each(r.conn, "SELECT station, seq FROM state", func(rows *sql.Rows) error {
		var station string
		var seq int64
		err := rows.Scan(&station, &seq)
		x.States[station] = uint64(seq)
		return err
	})
	if err != nil {
		return x, err
	}
	err = each(r.conn, "SELECT run, seq FROM run", func(rows *sql.Rows) error {
		var run, seq int64
		err := rows.Scan(&run, &seq)
		x.Runs[uint32(run)] = uint64(seq)
		return err
	})
	return x, err
}

func each(conn *sql.Conn, query string, f func(*sql.Rows) error) (err error) {
	rows, err := conn.QueryContext(context.Background(), query)
	if err != nil {
		return fmt.Errorf("reading the index: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := f(rows); err != nil {
			return fmt.Errorf("reading the index: %w", err)
		}
	}
	return rows.Err()
}

// body is the canonical form of one entry.
func (r *Reader) body(seq uint64) ([]byte, error) {
	var b []byte
	err := r.conn.QueryRowContext(context.Background(), "SELECT body FROM entry WHERE seq = ?", int64(seq)).Scan(&b)
	if err != nil {
		return nil, fmt.Errorf("reading entry %d: %w", seq, err)
	}
	return b, nil
}

// States gives the latest saved state of every station.
func (r *Reader) States() (map[string][]byte, error) {
	x, err := r.Index()
	if err != nil {
		return nil, err
	}
	return statesOf(x.States, r.body)
}

// Copy writes a consistent copy of the journal to a file that must not exist.
func (r *Reader) Copy(to string) error {
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("copying the journal: %s exists already; give another name", to)
	}
	ctx := context.Background()
	// A copy cannot be made inside a transaction; it takes a snapshot itself.
	if _, err := r.conn.ExecContext(ctx, "COMMIT"); err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	if _, err := r.conn.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		return fmt.Errorf("copying the journal to %s: %w", to, err)
	}
	if _, err := r.conn.ExecContext(ctx, "BEGIN"); err != nil {
		return fmt.Errorf("copying the journal: %w", err)
	}
	return nil
}

var _ verify.Source = (*Reader)(nil)

// Verify checks the journal in a file against the heads that were noted
// elsewhere. The error is for a file that is no journal, or cannot be read.
func Verify(path string, heads ...verify.Head) (verify.Report, error) {
	for try := 0; ; try++ {
		rep, err := verifyOnce(path, heads)
		_, wal := os.Stat(path + "-wal")
		// A writer that started meanwhile may have changed the file under a
		// reader that took it for finished.
		if err != nil || rep.OK || wal != nil || try > 0 {
			return rep, err
		}
	}
}

func verifyOnce(path string, heads []verify.Head) (verify.Report, error) {
	r, err := OpenReader(path)
	if code(err) == sqlite3.SQLITE_CORRUPT {
		return verify.Report{Problems: []string{err.Error()}}, nil
	}
	if err != nil {
		return verify.Report{}, err
	}
	rep, err := verify.Check(r, heads...)
	return rep, errors.Join(err, r.Close())
}
