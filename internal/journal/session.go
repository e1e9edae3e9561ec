package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"modernc.org/sqlite"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// session is one connection that writes. Everything of it happens in one
// goroutine; when that one is abandoned, the session is never touched again.
type session struct {
	o       *Options
	path    string
	db      *sql.DB
	conn    *sql.Conn
	tree    verify.Tree
	full    bool // the connection syncs every commit
	pages   int  // written to the log since it was last emptied, estimated
	run     uint32
	thinned uint64      // entries up to this one were looked at for thinning
	left    func() bool // says that the session was left behind, nil for never
	insert  *sql.Stmt
}

// emptyLogAt is the number of pages after which the write-ahead log goes into
// the database: fewer would write each page more often, more would make the
// file that a start has to read longer.
const emptyLogAt = 1000

const pageSize = 1024

// openSession opens the file, creating it when there is none.
func openSession(path string, o *Options) (*session, error) {
	if err := create(path, o); err != nil {
		return nil, err
	}
	return openMedium(path, o, "rw")
}

// create makes an empty journal under another name and gives it its own when it
// is whole, so that a power cut during the first start leaves no torn file.
func create(path string, o *Options) error {
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return nil
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("opening the journal: %w", err)
	}
	if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
		return fmt.Errorf("%s: %w: it is missing or empty, but its log %s-wal is there", path, ErrDamaged, path)
	}
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		return fmt.Errorf("opening the journal %s: its folder must be there first: %w", path, err)
	}
	fresh := freshName(path)
	if err := removeFresh(path); err != nil {
		return err
	}
	s, err := openMedium(fresh, o, "rwc")
	if err != nil {
		return err
	}
	if err := errors.Join(s.finish(), s.close(), syncFile(fresh)); err != nil {
		return fmt.Errorf("creating the journal %s: %w", path, err)
	}
	if err := os.Rename(fresh, path); err != nil {
		return fmt.Errorf("creating the journal: %w", err)
	}
	return syncFile(filepath.Dir(path))
}

// openMedium opens the file in a mode of SQLite.
func openMedium(path string, o *Options, mode string) (s *session, err error) {
	ctx := context.Background()
	db, conn, err := connect(ctx, path, o.vfs, mode)
	if err != nil {
		return nil, err
	}
	s = &session{o: o, path: path, db: db, conn: conn, full: true}
	defer func() {
		if err != nil {
			_ = s.close() // the first error says what is wrong
			s = nil
		}
	}()
	version, err := identify(ctx, conn, path)
	if err != nil {
		return s, err
	}
	if err := prepare(ctx, conn, path, o, version); err != nil {
		return s, err
	}
	if err := s.keepLog(true); err != nil {
		return s, err
	}
	if s.insert, err = conn.PrepareContext(ctx, "INSERT INTO entry (seq, body) VALUES (?, ?)"); err != nil {
		return s, fmt.Errorf("preparing to write the journal %s: %w", path, err)
	}
	return s, s.resume(ctx)
}

// resume takes up the chain where the file ends.
func (s *session) resume(ctx context.Context) error {
	var last int64
	var run sql.NullInt64
	err := s.conn.QueryRowContext(ctx, "SELECT coalesce(max(seq), 0), (SELECT max(run) FROM run) FROM entry").Scan(&last, &run)
	if err != nil {
		return fmt.Errorf("reading the journal %s: %w", s.path, err)
	}
	s.run = uint32(run.Int64)
	tip, err := readTip(ctx, s.conn)
	if err == nil {
		s.tree, err = verify.Resume(tip.Size, tip.Frontier)
	}
	if err == nil {
		if root := s.tree.Root(); string(root[:]) != string(tip.Root) {
			err = errors.New("the stored chain head and its frontier do not agree")
		} else if tip.Size != uint64(last) {
			err = fmt.Errorf("the stored chain head covers %d entries, but the last one is %d", tip.Size, last)
		}
	}
	if err != nil {
		return fmt.Errorf("%s: %w: %w; see `soakwarden journal verify`", s.path, ErrDamaged, err)
	}
	return nil
}

// keepLog says whether the log stays when the session is closed. SQLite would
// remove it by its name, and by the time at which a session that was left behind
// is closed that name can be another file's.
func (s *session) keepLog(keep bool) error {
	mode := 0
	if keep {
		mode = 1
	}
	err := s.conn.Raw(func(c any) error {
		_, err := c.(sqlite.FileControl).FileControlPersistWAL("main", mode)
		return err
	})
	if err != nil {
		return fmt.Errorf("setting up the journal %s: %w", s.path, err)
	}
	return nil
}

// finish leaves everything in the file itself: closing removes the log then.
func (s *session) finish() error { return errors.Join(s.empty("TRUNCATE"), s.keepLog(false)) }

func (s *session) close() error {
	var err error
	if s.insert != nil {
		err = s.insert.Close()
	}
	return errors.Join(err, s.conn.Close(), s.db.Close())
}

func (s *session) exec(ctx context.Context, query string, args ...any) error {
	_, err := s.conn.ExecContext(ctx, query, args...)
	if err != nil {
		return fmt.Errorf("writing the journal %s: %w", s.path, err)
	}
	return nil
}

func (s *session) sync(full bool) error {
	if s.full == full {
		return nil
	}
	level := "NORMAL"
	if full {
		level = "FULL"
	}
	if err := s.exec(context.Background(), "PRAGMA synchronous="+level); err != nil {
		return err
	}
	s.full = full
	return nil
}

// row is one encoded entry with its place.
type row struct {
	seq     uint64
	body    []byte
	kind    entry.Kind
	station string
	run     uint32
}

// transact runs f in a transaction, synced when full, and stores tree as the
// end of the chain with it. A session that was left behind may wake here long
// after another one has taken its place: it goes on only while the file ends
// where it knows, and commits nothing once it was given up.
func (s *session) transact(full bool, tree verify.Tree, f func(context.Context) error) error {
	ctx := context.Background()
	if err := s.sync(full); err != nil {
		return err
	}
	if err := s.exec(ctx, "BEGIN IMMEDIATE"); err != nil {
		return err
	}
	err := s.atEnd(ctx)
	if err == nil {
		err = f(ctx)
	}
	if err == nil {
		root := tree.Root()
		err = s.exec(ctx, "REPLACE INTO tip (id, size, root, frontier) VALUES (1, ?, ?, ?)",
			int64(tree.Size()), root[:], tree.Frontier())
	}
	if err == nil && s.left != nil && s.left() {
		err = errStuck
	}
	if err == nil {
		err = s.exec(ctx, "COMMIT")
	}
	if err != nil {
		// SQLite may have ended the transaction itself, so this may be refused.
		_, _ = s.conn.ExecContext(ctx, "ROLLBACK")
		return err
	}
	s.tree = tree
	s.pages += 4
	return nil
}

// atEnd checks that the file ends where the session knows.
func (s *session) atEnd(ctx context.Context) error {
	tip, err := readTip(ctx, s.conn)
	if err != nil {
		return err
	}
	if root := s.tree.Root(); tip.Size != s.tree.Size() || string(tip.Root) != string(root[:]) {
		return fmt.Errorf("the journal %s holds %d entries and not %d: somebody else has written to it", s.path, tip.Size, s.tree.Size())
	}
	return nil
}

// write commits rows that follow the end of the chain; tree includes them.
func (s *session) write(rows []row, tree verify.Tree, full bool) error {
	return s.transact(full, tree, func(ctx context.Context) error {
		for i := range rows {
			if err := s.put(ctx, &rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

func (s *session) put(ctx context.Context, r *row) error {
	if _, err := s.insert.ExecContext(ctx, int64(r.seq), r.body); err != nil {
		return fmt.Errorf("writing entry %d of the journal %s: %w", r.seq, s.path, err)
	}
	s.pages += 1 + len(r.body)/pageSize
	switch r.kind {
	case entry.KindState:
		return s.exec(ctx, "REPLACE INTO state (station, seq) VALUES (?, ?)", r.station, int64(r.seq))
	case entry.KindStart:
		return s.exec(ctx, "INSERT INTO run (run, seq) VALUES (?, ?)", int64(r.run), int64(r.seq))
	}
	return nil
}

// check computes the chain from an earlier point, known to the program, to the
// end and compares it with what is stored.
func (s *session) check(from verify.Tree) error {
	tree := from.Clone()
	rows, err := s.conn.QueryContext(context.Background(),
		"SELECT body, leaf FROM entry WHERE seq > ? ORDER BY seq", int64(from.Size()))
	if err != nil {
		return fmt.Errorf("checking the journal %s: %w", s.path, err)
	}
	for rows.Next() {
		var body, leaf []byte
		if err := rows.Scan(&body, &leaf); err != nil {
			return errors.Join(fmt.Errorf("checking the journal %s: %w", s.path, err), rows.Close())
		}
		if body != nil {
			tree.Append(verify.Leaf(body))
		} else if len(leaf) == len(verify.Hash{}) {
			tree.Append(verify.Hash(leaf))
		}
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return fmt.Errorf("checking the journal %s: %w", s.path, err)
	}
	if !same(tree, s.tree) {
		return fmt.Errorf("the journal %s does not hold what was written to it", s.path)
	}
	return nil
}

func same(a, b verify.Tree) bool { return a.Size() == b.Size() && a.Root() == b.Root() }

// tidy moves the log into the database when it is long enough. A reader may
// hold part of it back; then the next call goes on.
func (s *session) tidy() error {
	if s.pages < s.o.logPages {
		return nil
	}
	s.pages = 0
	return s.empty("PASSIVE")
}

func (s *session) empty(how string) error {
	var busy, log, moved int
	err := s.conn.QueryRowContext(context.Background(), "PRAGMA wal_checkpoint("+how+")").Scan(&busy, &log, &moved)
	if err != nil {
		return fmt.Errorf("moving the log of the journal %s into it: %w", s.path, err)
	}
	return nil
}
