/**
 * Moments. A place belongs to a log by its content, and is linked to the flight of that log in which it lies (or
 * which is nearest to it) whenever flights come, go, are cut otherwise or renamed: triggers see to that, so that no
 * way of changing flights can forget it. What is searched follows in the same way.
 */
const link = (which: string) => `
  UPDATE moment_place SET flight_id = (
    SELECT id FROM flight WHERE flight.content_hash = moment_place.content_hash
    ORDER BY max(COALESCE(flight.t0_s, 0) - moment_place.t0_s,
                 moment_place.t0_s - COALESCE(flight.t1_s, 9e99), 0),
             COALESCE(flight.t1_s, 9e99) - COALESCE(flight.t0_s, 0), id
    LIMIT 1
  ) WHERE ${which};
  UPDATE moment_place SET flight_name = flight.name, craft = flight.craft
  FROM flight WHERE flight.id = flight_id AND ${which};`

const ofLog = (hash: string) => `moment_place.content_hash = ${hash}`
const NEW_PLACE = 'moment_place.moment = new.moment AND moment_place.side = new.side'

const retext = (number: string) => `
  DELETE FROM moment_text WHERE rowid = ${number};
  INSERT INTO moment_text (rowid, note, tags, flight, craft)
  SELECT number, note || iif(fly_again, ' fly again ', ' ') || what_to_fly,
    COALESCE((SELECT group_concat(value, ' ') FROM json_each(tags)), ''),
    COALESCE((SELECT group_concat(flight_name, ' ') FROM moment_place WHERE moment = number AND marked = 1), ''),
    COALESCE((SELECT group_concat(craft, ' ') FROM moment_place WHERE moment = number AND marked = 1), '')
  FROM moment WHERE number = ${number} AND removed_at_ms IS NULL;`

export const sql = `
CREATE TABLE moment (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  tags TEXT NOT NULL,
  note TEXT NOT NULL,
  stars INTEGER NOT NULL CHECK (stars BETWEEN 0 AND 5),
  fly_again INTEGER NOT NULL CHECK (fly_again IN (0, 1)),
  what_to_fly TEXT NOT NULL,
  created_at_ms INTEGER NOT NULL,
  changed_at_ms INTEGER NOT NULL,
  removed_at_ms INTEGER
) STRICT;
CREATE INDEX moment_by_creation ON moment(created_at_ms, number) WHERE removed_at_ms IS NULL;

CREATE TABLE moment_place (
  moment INTEGER NOT NULL REFERENCES moment(number) ON DELETE CASCADE,
  side TEXT NOT NULL CHECK (side IN ('a', 'b')),
  content_hash TEXT NOT NULL,
  t0_s REAL NOT NULL,
  t1_s REAL,
  marked INTEGER NOT NULL CHECK (marked IN (0, 1)),
  flight_id INTEGER,
  flight_name TEXT NOT NULL DEFAULT '',
  craft TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (moment, side)
) STRICT, WITHOUT ROWID;
CREATE INDEX moment_by_log ON moment_place(content_hash);

CREATE VIRTUAL TABLE moment_text USING fts5(
  note, tags, flight, craft,
  content = '', contentless_delete = 1, detail = none,
  tokenize = 'unicode61 remove_diacritics 2', prefix = '1 2 3'
);

CREATE TRIGGER moment_flight_added AFTER INSERT ON flight BEGIN ${link(ofLog('new.content_hash'))}
END;
CREATE TRIGGER moment_flight_changed AFTER UPDATE OF name, craft, t0_s, t1_s, content_hash ON flight
BEGIN ${link(ofLog('new.content_hash'))}
END;
CREATE TRIGGER moment_flight_removed AFTER DELETE ON flight BEGIN ${link(ofLog('old.content_hash'))}
END;

CREATE TRIGGER moment_changed AFTER UPDATE OF tags, note, fly_again, what_to_fly, removed_at_ms ON moment
BEGIN ${retext('new.number')}
END;
CREATE TRIGGER moment_removed AFTER DELETE ON moment BEGIN
  DELETE FROM moment_text WHERE rowid = old.number;
END;
CREATE TRIGGER moment_place_added AFTER INSERT ON moment_place
BEGIN ${link(NEW_PLACE)} ${retext('new.moment')}
END;
CREATE TRIGGER moment_place_moved AFTER UPDATE OF content_hash, t0_s ON moment_place BEGIN ${link(NEW_PLACE)}
END;
CREATE TRIGGER moment_place_changed AFTER UPDATE OF flight_name, craft, marked ON moment_place
WHEN old.flight_name <> new.flight_name OR old.craft <> new.craft OR old.marked <> new.marked
BEGIN ${retext('new.moment')}
END;
`
