-- Times are nanoseconds: started since 1970-01-01 UTC, all others durations.
-- Numbers that must come back exactly (values, conditions) are IEEE 754 bits in
-- an integer, since a column of reals keeps neither NaN nor minus zero. So is
-- the seed, an unsigned number of 64 bits in a signed column.

CREATE TABLE runs (
  key            INTEGER PRIMARY KEY,
  id             TEXT    NOT NULL UNIQUE,
  format         INTEGER NOT NULL,
  started        INTEGER NOT NULL,
  program        TEXT    NOT NULL,
  aircraft       TEXT    NOT NULL,
  flow           TEXT    NOT NULL,
  flow_hash      TEXT    NOT NULL,
  phase          TEXT    NOT NULL,
  panel          TEXT    NOT NULL,
  oat            INTEGER NOT NULL,  -- degrees Celsius, bits
  altitude       INTEGER NOT NULL,  -- metres of pressure altitude, bits
  since_shutdown INTEGER NOT NULL,
  battery        INTEGER NOT NULL,  -- charge, 0 to 1, bits
  hidden         INTEGER NOT NULL,  -- 1: the student was not shown the conditions
  faults         TEXT    NOT NULL,  -- a JSON array of strings
  seed           INTEGER NOT NULL,
  step           INTEGER NOT NULL,  -- of the simulation
  -- The summary. All are null until the run ended.
  outcome        TEXT,
  prime          INTEGER,
  attempts       INTEGER,
  unsafe         INTEGER,
  duration       INTEGER
);

CREATE INDEX runs_by_start ON runs (started, key);
CREATE INDEX runs_by_flow ON runs (aircraft, flow, started, key);

-- An event's place is its run's key times 2^24 plus its sequence number: so a
-- run's events lie together and in order, and every row lies in a leaf, where it
-- can still be found when the pages that lead there are lost.
CREATE TABLE events (
  place   INTEGER PRIMARY KEY,
  at      INTEGER NOT NULL,
  kind    TEXT    NOT NULL,
  subject TEXT    NOT NULL,
  value   INTEGER NOT NULL,  -- bits
  text    TEXT    NOT NULL
);
