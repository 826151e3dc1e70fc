package record

import (
	"context"
	"database/sql"
	"errors"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// A server is asked many things without waiting for each answer: what many runs
// cost is then its work, and not the way there and back.

// longestTransaction bounds how long a server that does not answer is waited for.
const longestTransaction = 60 * time.Second

// session is the connection that a transaction has to itself, until its time is up.
type session struct {
	ctx  context.Context
	conn *sql.Conn
}

// inSession begins a transaction on a connection of its own.
func (f *file) inSession(do func(*session, *sql.Tx) error) error {
	ctx, cancel := context.WithTimeout(context.Background(), longestTransaction)
	defer cancel()
	conn, err := f.db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	return do(&session{ctx, conn}, tx)
}

// pgx lends the server's own connection, for what database/sql has no words for.
func (s *session) pgx(do func(*pgx.Conn) error) error {
	return s.conn.Raw(func(c any) error { return do(c.(*stdlib.Conn).Conn()) })
}

// insertListings stores headers with their summaries in one message, and gives
// their keys, 0 where an id is taken.
func (s *session) insertListings(listings []Listing) ([]int64, error) {
	var batch pgx.Batch
	for _, l := range listings {
		statement, args, err := l.insertion()
		if err != nil {
			return nil, err
		}
		batch.Queue(statement, args...)
	}
	keys := make([]int64, len(listings))
	return keys, s.pgx(func(c *pgx.Conn) (err error) {
		answers := c.SendBatch(s.ctx, &batch)
		defer func() { err = errors.Join(err, answers.Close()) }()
		for i := range keys {
			if err := answers.QueryRow().Scan(&keys[i]); err != nil && !errors.Is(err, pgx.ErrNoRows) {
				return err
			}
		}
		return nil
	})
}

// copyEvents stores events of runs that have none yet, by the server's own way for
// many rows (postgresql.org/docs/current/sql-copy.html).
func (s *session) copyEvents(rows []placed) error {
	return s.pgx(func(c *pgx.Conn) error {
		_, err := c.CopyFrom(s.ctx, pgx.Identifier{"events"}, strings.Split(eventColumns, ", "),
			pgx.CopyFromSlice(len(rows), func(i int) ([]any, error) {
				e := rows[i]
				return []any{e.place, int64(e.At), string(e.Kind), []byte(e.Subject), bits(e.Value), []byte(e.Text)}, nil
			}))
		return err
	})
}

// insertEventArrays is insertEvents for PostgreSQL: a column each, in one message.
func insertEventArrays(tx *transaction, rows []placed) error {
	if len(rows) == 0 {
		return nil
	}
	n := len(rows)
	places, at, values := make([]int64, n), make([]int64, n), make([]int64, n)
	kinds, subjects, texts := make([]string, n), make([][]byte, n), make([][]byte, n)
	for i, e := range rows {
		places[i], at[i], values[i] = e.place, int64(e.At), bits(e.Value)
		kinds[i], subjects[i], texts[i] = string(e.Kind), []byte(e.Subject), []byte(e.Text)
	}
	_, err := tx.Exec("INSERT INTO events ("+eventColumns+`) SELECT * FROM
		unnest($1::bigint[], $2::bigint[], $3::text[], $4::bytea[], $5::bigint[], $6::bytea[]) ON CONFLICT DO NOTHING`,
		places, at, kinds, subjects, values, texts)
	return err
}
