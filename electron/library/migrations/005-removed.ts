/** Flights that were taken out of the logbook, whole, until the program is closed: that can be undone. */
export const sql = `
CREATE TABLE removed_flight (
  id INTEGER PRIMARY KEY,
  content_hash TEXT NOT NULL,
  flight TEXT NOT NULL,
  assignments TEXT NOT NULL,
  file TEXT
) STRICT;
CREATE INDEX removed_flight_by_file ON removed_flight(content_hash);
`
