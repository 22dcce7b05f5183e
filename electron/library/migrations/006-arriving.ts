/**
 * What an archive has added so far, in the order in which it was added. Empty but for the time in which one is brought
 * in or taken back: what stands here when the library is opened was left half-way, and is taken out again.
 */
export const sql = `
CREATE TABLE arriving (
  number INTEGER PRIMARY KEY,
  what TEXT NOT NULL,
  key TEXT NOT NULL
) STRICT;
`
