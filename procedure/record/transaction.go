package record

import (
	"context"
	"database/sql"
)

// transaction is one that writes.
type transaction struct {
	*sql.Tx
	server *session // nil in a file
}

// inTransaction runs fn in one write transaction and commits it.
func (s *Store) inTransaction(fn func(*transaction) error) error {
	return s.write(func(f *file) error { return f.inTransaction(fn) })
}

func (f *file) inTransaction(fn func(*transaction) error) error {
	if f.postgres {
		return f.inSession(func(s *session, tx *sql.Tx) error { return commit(&transaction{tx, s}, fn) })
	}
	tx, err := f.db.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	return commit(&transaction{Tx: tx}, fn)
}

func commit(tx *transaction, fn func(*transaction) error) error {
	defer tx.Rollback()
	if err := fn(tx); err != nil {
		return err
	}
	return tx.Commit()
}
