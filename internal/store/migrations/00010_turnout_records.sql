-- +goose Up
CREATE TABLE turnout_records (
  record_id  TEXT   NOT NULL PRIMARY KEY,
  turnout_id TEXT   NOT NULL,
  version    BIGINT NOT NULL CHECK (version >= 1),
  kind       TEXT   NOT NULL,
  kept_ms    BIGINT NOT NULL,
  document   TEXT   NOT NULL
);

CREATE INDEX turnout_records_by_turnout ON turnout_records (kind, turnout_id, kept_ms);

-- +goose Down
DROP TABLE turnout_records;
