/** The trail of changes of each craft; how a flight's settings sheet was come by. */
export const sql = `
CREATE TABLE change (
  id TEXT PRIMARY KEY,
  craft TEXT NOT NULL,
  made_at_ms INTEGER NOT NULL,
  record TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX change_by_craft ON change(craft, made_at_ms);

ALTER TABLE flight ADD COLUMN settings_how TEXT;
`
