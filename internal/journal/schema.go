package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// applicationID marks the file ("SkWd"), so that no other database is taken
// for a journal.
const applicationID = 0x536b5764

// migrations lead from each version of the file to the next. They are never
// changed, only added to; the version is their number.
var migrations = []string{
	// body is the canonical form; leaf stands in for a body that was thinned.
	// The first head is the hash of the empty tree.
	`CREATE TABLE entry (seq INTEGER PRIMARY KEY, body BLOB, leaf BLOB);
	 CREATE TABLE tip (id INTEGER PRIMARY KEY CHECK (id = 1), size INTEGER NOT NULL, root BLOB NOT NULL, frontier BLOB NOT NULL);
	 INSERT INTO tip VALUES (1, 0, x'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', x'');
	 CREATE TABLE state (station TEXT PRIMARY KEY, seq INTEGER NOT NULL) WITHOUT ROWID;
	 CREATE TABLE run (run INTEGER PRIMARY KEY, seq INTEGER NOT NULL);`,
}

// location is the address by which SQLite opens a file.
func location(path, vfs, mode string) string {
	parts := strings.Split(path, "/")
	for i := range parts {
		parts[i] = url.PathEscape(parts[i])
	}
	query := url.Values{"mode": {mode}}
	if vfs != "" {
		query.Set("vfs", vfs)
	}
	if mode == "immutable" {
		query.Set("mode", "ro")
		query.Set("immutable", "1")
	}
	return "file:" + strings.Join(parts, "/") + "?" + query.Encode()
}

// code is the SQLite result code under err, 0 when there is none.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

// connect opens one connection.
func connect(ctx context.Context, path, vfs, mode string) (*sql.DB, *sql.Conn, error) {
	db, err := sql.Open("sqlite", location(path, vfs, mode))
	if err != nil {
		return nil, nil, fmt.Errorf("opening the journal %s: %w", path, err)
	}
	db.SetMaxOpenConns(1)
	conn, err := db.Conn(ctx)
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("opening the journal %s: %w", path, err), db.Close())
	}
	return db, conn, nil
}

// identify says what file this is: its version, 0 when it is empty.
func identify(ctx context.Context, conn *sql.Conn, path string) (version int, err error) {
	var app, tables int
	err = conn.QueryRowContext(ctx, "SELECT a.application_id, v.user_version, (SELECT count(*) FROM sqlite_schema) "+
		"FROM pragma_application_id a, pragma_user_version v").Scan(&app, &version, &tables)
	switch {
	case code(err) == sqlite3.SQLITE_NOTADB:
		return 0, fmt.Errorf("%s: %w; give the path of a journal, or of a file that does not exist yet", path, ErrNotDatabase)
	case err != nil:
		return 0, fmt.Errorf("looking at the journal %s: %w", path, err)
	case app == 0 && version == 0 && tables == 0:
		return 0, nil
	case app != applicationID:
		return 0, fmt.Errorf("%s: %w (application id %#x, a journal has %#x); give another path", path, ErrForeign, app, applicationID)
	case version > len(migrations):
		return version, fmt.Errorf("%s: %w (format %d, this one knows up to %d); use that version, or another path",
			path, ErrNewer, version, len(migrations))
	}
	return version, nil
}

// prepare sets a writing connection up and brings the file to this version.
// Page size and write-ahead log must be chosen before the first table exists.
func prepare(ctx context.Context, conn *sql.Conn, path string, o *Options, version int) error {
	for _, q := range []string{
		fmt.Sprintf("PRAGMA busy_timeout=%d", o.busy.Milliseconds()),
		"PRAGMA page_size=1024", "PRAGMA journal_mode=WAL", "PRAGMA wal_autocheckpoint=0",
		"PRAGMA cache_size=-512", "PRAGMA temp_store=MEMORY", "PRAGMA synchronous=FULL",
	} {
		if _, err := conn.ExecContext(ctx, q); err != nil {
			return fmt.Errorf("setting up the journal %s (%s): %w", path, q, err)
		}
	}
	if version == len(migrations) {
		return nil
	}
	steps := []string{"BEGIN IMMEDIATE"}
	steps = append(steps, migrations[version:]...)
	steps = append(steps, fmt.Sprintf("PRAGMA application_id=%d", applicationID),
		fmt.Sprintf("PRAGMA user_version=%d", len(migrations)), "COMMIT")
	for _, q := range steps {
		if _, err := conn.ExecContext(ctx, q); err != nil {
			return fmt.Errorf("bringing the journal %s from format %d to %d: %w", path, version, len(migrations), err)
		}
	}
	return nil
}
