package record

import (
	"embed"
	"fmt"
	"io/fs"
)

//go:embed migrations/*.sql
var migrations embed.FS

// applicationID marks our files among other SQLite databases
// (sqlite.org/pragma.html#pragma_application_id): "Kick".
const applicationID = 0x4b69636b

// migrationNames are the migrations in order; the nth leads to schema n.
func migrationNames() []string {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	return names
}

// migrate brings the database from any schema ever released to the present one,
// one transaction each, forward only.
func (f *file) migrate() error {
	names := migrationNames()
	version, err := f.schema()
	if err != nil {
		return err
	}
	for ; version < len(names); version++ {
		if err := f.apply(names[version], version); err != nil {
			return fmt.Errorf("bring the records to schema %d: %w", version+1, err)
		}
	}
	return nil
}

// schema gives the version of the database's schema, 0 when it is empty. It
// refuses the files of other programs and of newer versions of this one.
func (f *file) schema() (int, error) {
	if f.postgres {
		return schemaOfPostgres(f.db, f.path)
	}
	var version, application, tables int
	for pragma, into := range map[string]*int{
		"PRAGMA user_version":                &version,
		"PRAGMA application_id":              &application,
		"SELECT count(*) FROM sqlite_schema": &tables,
	} {
		if err := f.db.QueryRow(pragma).Scan(into); err != nil {
			return 0, err
		}
	}
	switch {
	case application != applicationID && (application != 0 || tables > 0):
		return 0, &fault{kind: ErrForeign, path: f.path}
	case version > len(migrationNames()):
		return 0, &fault{kind: ErrNewer, path: f.path}
	}
	return version, nil
}

// requirePresentSchema is migrate for a file that cannot be written.
func (f *file) requirePresentSchema() error {
	version, err := f.schema()
	if err == nil && version != len(migrationNames()) {
		err = fmt.Errorf("the records have schema %d and cannot be brought up to date where they are", version)
	}
	return err
}

// apply takes the lock before it looks at the version again: two programs may
// open a new file at the same moment.
func (f *file) apply(name string, from int) error {
	text, err := migrations.ReadFile(name)
	if err != nil {
		return err
	}
	if f.postgres {
		return f.applyPostgres(string(text), from)
	}
	return f.inTransaction(func(tx *transaction) error {
		var version int
		if err := tx.QueryRow("PRAGMA user_version").Scan(&version); err != nil || version != from {
			return err
		}
		if _, err := tx.Exec(string(text)); err != nil {
			return err
		}
		_, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, from+1))
		return err
	})
}
