/**
 * What the logbook lists stands in columns of its own and in a full-text index; a file may hold several flights;
 * where logs lie, which folders are watched, and computed results keyed by what they were computed of.
 */
export const sql = `
ALTER TABLE file ADD COLUMN notices TEXT;
ALTER TABLE file ADD COLUMN spans TEXT;
ALTER TABLE file ADD COLUMN activity TEXT;

ALTER TABLE flight ADD COLUMN from_row INTEGER;
ALTER TABLE flight ADD COLUMN to_row INTEGER;
ALTER TABLE flight ADD COLUMN t0_s REAL;
ALTER TABLE flight ADD COLUMN t1_s REAL;
ALTER TABLE flight ADD COLUMN clock TEXT;
ALTER TABLE flight ADD COLUMN notices TEXT;
ALTER TABLE flight ADD COLUMN activity TEXT;

UPDATE flight SET
  clock = (SELECT json_extract(log, '$.clock') FROM file WHERE file.content_hash = flight.content_hash),
  notices = (SELECT json_extract(log, '$.notices') FROM file WHERE file.content_hash = flight.content_hash);

CREATE TABLE listing (
  flight_id INTEGER PRIMARY KEY REFERENCES flight(id) ON DELETE CASCADE,
  craft TEXT NOT NULL,
  day TEXT NOT NULL,
  at_ms INTEGER NOT NULL,
  name TEXT NOT NULL,
  duration_s REAL NOT NULL,
  rate_hz REAL,
  rows INTEGER NOT NULL,
  cautions INTEGER NOT NULL,
  assumed INTEGER NOT NULL,
  roles TEXT NOT NULL,
  file_name TEXT NOT NULL,
  content_hash TEXT NOT NULL,
  indexed_at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX listing_by_craft ON listing(craft = '', craft COLLATE NOCASE, craft, day = '', day, at_ms, flight_id);
CREATE INDEX listing_by_time ON listing(craft, at_ms, flight_id);

CREATE VIRTUAL TABLE flight_text USING fts5(
  name, craft, note, file_name, settings,
  content = '', contentless_delete = 1, detail = none,
  tokenize = 'unicode61 remove_diacritics 2', prefix = '1 2 3'
);
CREATE TRIGGER flight_text_removed AFTER DELETE ON flight BEGIN
  DELETE FROM flight_text WHERE rowid = old.id;
END;

INSERT INTO listing
SELECT flight.id, flight.craft,
  COALESCE(strftime('%Y-%m-%d', flight.flown_at_ms / 1000, 'unixepoch'), ''),
  COALESCE(flight.flown_at_ms, file.indexed_at_ms), flight.name,
  COALESCE(flight.clock ->> '$.duration_s', 0), flight.clock ->> '$.effectiveRate_hz', flight.clock ->> '$.rows',
  (SELECT count(*) FROM json_each(flight.notices) AS notice WHERE notice.value ->> '$.level' <> 'info'),
  EXISTS (SELECT 1 FROM assignment WHERE flight_id = flight.id
    AND assignment ->> '$.sure' = 'guess' AND assignment ->> '$.setBy' = 'program'),
  (SELECT json_group_array(role) FROM assignment WHERE flight_id = flight.id),
  file.file_name, file.content_hash, file.indexed_at_ms
FROM flight JOIN file USING (content_hash);

INSERT INTO flight_text (rowid, name, craft, note, file_name, settings)
SELECT flight.id, flight.name, craft, note, file.file_name,
  COALESCE(settings_name, '') || ' ' || COALESCE(settings_text, '')
FROM flight JOIN file USING (content_hash);

CREATE TABLE source (
  path TEXT PRIMARY KEY,
  content_hash TEXT,
  bytes INTEGER NOT NULL,
  changed_ms REAL NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('here', 'changed', 'missing', 'refused')),
  problem TEXT,
  seen_at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX source_by_content ON source(content_hash);
INSERT OR IGNORE INTO source
SELECT source_path, content_hash, bytes, 0, 'here', NULL, indexed_at_ms FROM file WHERE source_path IS NOT NULL;

CREATE TABLE folder (
  path TEXT PRIMARY KEY,
  added_at_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE left_out (
  content_hash TEXT PRIMARY KEY,
  removed_at_ms INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE result (
  content_hash TEXT NOT NULL REFERENCES file(content_hash) ON DELETE CASCADE,
  reading TEXT NOT NULL,
  method TEXT NOT NULL,
  version INTEGER NOT NULL,
  parameters TEXT NOT NULL,
  value TEXT NOT NULL,
  used_at_ms INTEGER NOT NULL,
  PRIMARY KEY (content_hash, reading, method, version, parameters)
) STRICT, WITHOUT ROWID;
CREATE INDEX result_by_use ON result(used_at_ms);
`
