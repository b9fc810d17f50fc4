-- What a person's password or PIN is checked against: argon2id, salted. Outside the journal, whose entry `secret.set` carries its seal.
CREATE TABLE credential (
    operator TEXT NOT NULL PRIMARY KEY,
    check_text TEXT NOT NULL
) STRICT, WITHOUT ROWID
