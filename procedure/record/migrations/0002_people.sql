-- People are named by people.id, text that tells nothing of them, wherever they
-- are meant: so a person's name stands in one row, and a run that came from
-- another store keeps whose it is.

CREATE TABLE people (
  key   INTEGER PRIMARY KEY,
  id    TEXT    NOT NULL UNIQUE,
  name  TEXT    NOT NULL,
  role  TEXT    NOT NULL,  -- student or instructor
  added INTEGER NOT NULL   -- nanoseconds since 1970-01-01 UTC
);

-- Real aeroplanes, by what is painted on them.
CREATE TABLE registrations (
  key          INTEGER PRIMARY KEY,
  registration TEXT    NOT NULL UNIQUE,
  aircraft     TEXT    NOT NULL,  -- the file that describes it
  note         TEXT    NOT NULL
);

-- Starts of real engines. Numbers that may be unknown are IEEE 754 bits.
CREATE TABLE real_starts (
  key            INTEGER PRIMARY KEY,
  id             TEXT    NOT NULL UNIQUE,
  registration   TEXT    NOT NULL,
  aircraft       TEXT    NOT NULL,
  started        INTEGER NOT NULL,
  situation      TEXT    NOT NULL,
  oat            INTEGER NOT NULL,  -- degrees Celsius, bits
  altitude       INTEGER NOT NULL,  -- metres of pressure altitude, bits
  since_shutdown INTEGER,           -- null when not known
  prime          INTEGER NOT NULL,
  attempts       INTEGER NOT NULL,
  outcome        TEXT    NOT NULL,
  note           TEXT    NOT NULL,
  person         TEXT               -- null: nobody's
);

CREATE INDEX real_starts_by_start ON real_starts (started, key);
CREATE INDEX real_starts_by_person ON real_starts (person, started, key);

-- An instructor's word that a student has flown a flow as it should be.
CREATE TABLE sign_offs (
  key        INTEGER PRIMARY KEY,
  id         TEXT    NOT NULL UNIQUE,
  student    TEXT    NOT NULL,
  instructor TEXT    NOT NULL,
  signed     INTEGER NOT NULL,
  aircraft   TEXT    NOT NULL,
  flow       TEXT    NOT NULL,
  run        TEXT,              -- runs.id of the run that was seen; null: none in particular
  remarks    TEXT    NOT NULL
);

CREATE INDEX sign_offs_by_student ON sign_offs (student, signed);
CREATE INDEX sign_offs_by_instructor ON sign_offs (instructor, signed);

ALTER TABLE runs ADD COLUMN person TEXT;      -- null: nobody's
ALTER TABLE runs ADD COLUMN running INTEGER;  -- 1: the engine ran at the end; null until then, and in runs of schema 1
ALTER TABLE runs ADD COLUMN steps BLOB;       -- what became of each step, packed; null: not known without a replay

-- Each order that a list can be asked for begins with what was asked for, goes on
-- in the list's order, and ends with what else may be asked for, which can then be
-- looked at without fetching the run.
DROP INDEX runs_by_start;
DROP INDEX runs_by_flow;
CREATE INDEX runs_by_start ON runs (started, key, aircraft, flow, phase, outcome);
CREATE INDEX runs_by_aircraft ON runs (aircraft, started, key, flow, phase, outcome);
CREATE INDEX runs_by_flow ON runs (aircraft, flow, started, key, phase, outcome);
CREATE INDEX runs_by_phase ON runs (phase, started, key, aircraft, flow, outcome);
CREATE INDEX runs_by_outcome ON runs (outcome, started, key, aircraft, flow, phase);
CREATE INDEX runs_by_person ON runs (person, started, key, aircraft, flow, phase, outcome);
