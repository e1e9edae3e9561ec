package journal

import (
	"context"
	"errors"
	"fmt"

	"soakwarden/internal/journal/entry"
	"soakwarden/internal/journal/verify"
)

// blocksToThin is how many blocks one thinning gives up.
const blocksToThin = 64

var errNothingToThin = errors.New("the card is full, and there is no block left whose detail may be given up")

// thin gives up the detail of the oldest blocks on the card: each row keeps the
// leaf hash, and one entry says what was thinned and what remains of it.
func (s *session) thin(header entry.Header) (int, error) {
	ctx := context.Background()
	blocks, leaves, last, err := s.oldestBlocks(ctx)
	if err != nil {
		return 0, err
	}
	if len(blocks) == 0 {
		return 0, errNothingToThin
	}
	tree := s.tree.Clone()
	e := entry.Entry{Header: header, Body: &entry.Thinned{Reason: "the card was full", Blocks: blocks}}
	rows := encode(&tree, []item{{Entry: e}})
	err = s.transact(true, tree, func(ctx context.Context) error {
		for i := range blocks {
			if err := s.exec(ctx, "UPDATE entry SET body = NULL, leaf = ? WHERE seq = ?",
				leaves[i][:], int64(blocks[i].Seq)); err != nil {
				return err
			}
		}
		return s.put(ctx, &rows[0])
	})
	if err != nil {
		return 0, err
	}
	s.thinned = last
	return len(blocks), s.empty("TRUNCATE")
}

func (s *session) oldestBlocks(ctx context.Context) (blocks []entry.Summary, leaves []verify.Hash, last uint64, err error) {
	rows, err := s.conn.QueryContext(ctx,
		"SELECT seq, body FROM entry WHERE seq > ? AND body IS NOT NULL ORDER BY seq", int64(s.thinned))
	if err != nil {
		return nil, nil, 0, fmt.Errorf("looking for old blocks in %s: %w", s.path, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	last = s.thinned
	for len(blocks) < blocksToThin && rows.Next() {
		var seq int64
		var body []byte
		if err := rows.Scan(&seq, &body); err != nil {
			return nil, nil, 0, fmt.Errorf("looking for old blocks in %s: %w", s.path, err)
		}
		last = uint64(seq)
		kind, _, err := entry.Peek(body)
		if err != nil || kind != entry.KindTicks {
			continue
		}
		e, err := entry.Decode(body)
		if err != nil {
			continue
		}
		if t := e.Body.(*entry.Ticks); !t.Kept {
			blocks = append(blocks, Summarise(e.Header, t))
			leaves = append(leaves, verify.Leaf(body))
		}
	}
	return blocks, leaves, last, rows.Err()
}

// encode gives items their places after tree, which grows by them.
func encode(tree *verify.Tree, items []item) []row {
	rows := make([]row, len(items))
	for i := range items {
		e := items[i].Entry
		e.Seq = tree.Size() + 1
		b := e.Append(nil)
		tree.Append(verify.Leaf(b))
		rows[i] = row{seq: e.Seq, body: b, kind: e.Body.Kind(), station: e.Station, run: e.Run}
	}
	return rows
}
