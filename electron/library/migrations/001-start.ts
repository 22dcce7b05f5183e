/** The first schema: files, their flights, the assignments in force, what is remembered per header, kept state. */
export const sql = `
CREATE TABLE file (
  content_hash TEXT PRIMARY KEY,
  file_name TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  source_path TEXT,
  header_key TEXT NOT NULL,
  log TEXT NOT NULL,
  indexed_at_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE flight (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  content_hash TEXT NOT NULL REFERENCES file(content_hash) ON DELETE CASCADE,
  name TEXT NOT NULL,
  craft TEXT NOT NULL,
  note TEXT NOT NULL,
  flown_at_ms INTEGER,
  demo INTEGER NOT NULL DEFAULT 0,
  settings_name TEXT,
  settings_text TEXT
) STRICT;
CREATE INDEX flight_by_file ON flight(content_hash);

CREATE TABLE assignment (
  flight_id INTEGER NOT NULL REFERENCES flight(id) ON DELETE CASCADE,
  role TEXT NOT NULL,
  assignment TEXT NOT NULL,
  PRIMARY KEY (flight_id, role)
) STRICT, WITHOUT ROWID;

CREATE TABLE header_memory (
  header_key TEXT PRIMARY KEY,
  assignments TEXT NOT NULL,
  set_at_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE kept (
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
`
