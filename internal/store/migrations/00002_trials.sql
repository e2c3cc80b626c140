-- +goose Up
-- A trial's setting: what it is, without its sheets. document is a trial/1 file,
-- overlay a rules/1 file or empty.
CREATE TABLE trial_settings (
  trial_id TEXT   NOT NULL,
  version  BIGINT NOT NULL CHECK (version >= 1),
  name     TEXT   NOT NULL,
  note     TEXT   NOT NULL,
  kept_by  TEXT   NOT NULL,
  document TEXT   NOT NULL,
  overlay  TEXT   NOT NULL,
  saved_ms BIGINT NOT NULL,
  PRIMARY KEY (trial_id, version)
);

-- The ledger: one mark a row, as one line of JSON, numbered from 1 without a gap
-- in the order they were acknowledged. Rows are never changed or removed.
CREATE TABLE trial_marks (
  trial_id TEXT   NOT NULL,
  seq      BIGINT NOT NULL CHECK (seq >= 1),
  mark_id  TEXT   NOT NULL,
  came_ms  BIGINT NOT NULL,
  line     TEXT   NOT NULL,
  PRIMARY KEY (trial_id, seq),
  UNIQUE (trial_id, mark_id)
);

-- +goose Down
DROP TABLE trial_marks;
DROP TABLE trial_settings;
