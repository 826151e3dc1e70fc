package classroom

import (
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"kickover/procedure/record"
)

// This file is all that differs where classes are kept in a school's PostgreSQL.
// Statements are the same text, since SQLite reads $1 too. Each class has a
// schema of its own, so that its tables are those of a file, deleting it is
// deleting the schema, and a room's user needs rights on his own classes only.

// postgresPrefix begins the schemas' names unless the DSN's search_path says
// otherwise: a room of its own has one of its own, and lists its own classes.
const postgresPrefix = "kickover_class"

// forPostgres turns the schema of SQLite into PostgreSQL's. Events' texts are
// bytes there, since its texts cannot hold a zero byte and events come back as
// they were given.
var forPostgres = strings.NewReplacer(
	" WITHOUT ROWID", "",
	"INTEGER", "BIGINT",
	"BLOB", "BYTEA",
	"subject TEXT", "subject BYTEA",
	"text TEXT", "text BYTEA",
)

// anyText is a text of an event as its column takes it.
func (b *Book) anyText(s string) any {
	if b.postgres {
		return []byte(s)
	}
	return s
}

// postgresOf reads a DSN and gives what its schemas' names begin with.
func postgresOf(dsn string) (c *pgx.ConnConfig, prefix string, err error) {
	c, err = record.PostgresConfig(dsn)
	if err != nil {
		return nil, "", err
	}
	prefix = c.RuntimeParams["search_path"]
	delete(c.RuntimeParams, "search_path")
	if prefix == "" {
		prefix = postgresPrefix
	}
	return c, prefix + "_", nil
}

// openInPostgres opens a class's schema, and makes it if it is not there.
func openInPostgres(dsn, id string) (*Book, error) {
	config, prefix, err := postgresOf(dsn)
	if err != nil {
		return nil, err
	}
	schema := pgx.Identifier{prefix + strings.ToLower(id)}.Sanitize()
	config.RuntimeParams["search_path"] = schema
	b := &Book{db: stdlib.OpenDB(*config), postgres: true, runs: map[RunID]*bookedRun{}, kept: map[StationID]int{}}
	b.db.SetMaxOpenConns(1)
	if _, err = b.db.Exec("CREATE SCHEMA IF NOT EXISTS " + schema); err == nil {
		err = b.prepare()
	}
	if err != nil {
		b.db.Close()
		return nil, fmt.Errorf("the class cannot be kept in the database %s at %s: %w; look at the network and its rights, or keep classes in a folder", config.Database, config.Host, err)
	}
	return b, nil
}

func (b *Book) versionInPostgres() (n int, err error) {
	var there bool
	if err := b.db.QueryRow("SELECT to_regclass('version') IS NOT NULL").Scan(&there); err != nil || !there {
		return 0, err
	}
	err = b.db.QueryRow("SELECT n FROM version").Scan(&n)
	return n, err
}

// idsInPostgres are the classes of a database.
func idsInPostgres(dsn string) ([]string, error) {
	config, prefix, err := postgresOf(dsn)
	if err != nil {
		return nil, err
	}
	db := stdlib.OpenDB(*config)
	defer db.Close()
	rows, err := db.Query("SELECT substr(nspname, $1) FROM pg_namespace WHERE starts_with(nspname, $2)", len(prefix)+1, prefix)
	if err != nil {
		return nil, fmt.Errorf("the classes of the database %s at %s cannot be read: %w; look at the network", config.Database, config.Host, err)
	}
	defer rows.Close()
	var ids []string
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, err
		}
		ids = append(ids, strings.ToUpper(id)) // as they were made
	}
	return ids, rows.Err()
}
