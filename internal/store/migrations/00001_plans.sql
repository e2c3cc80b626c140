-- +goose Up
CREATE TABLE plan_versions (
  plan_id  TEXT   NOT NULL,
  version  BIGINT NOT NULL CHECK (version >= 1),
  name     TEXT   NOT NULL,
  note     TEXT   NOT NULL,
  document TEXT   NOT NULL,
  saved_ms BIGINT NOT NULL,
  PRIMARY KEY (plan_id, version)
);

CREATE TABLE turnout_versions (
  turnout_id TEXT   NOT NULL,
  version    BIGINT NOT NULL CHECK (version >= 1),
  name       TEXT   NOT NULL,
  document   TEXT   NOT NULL,
  saved_ms   BIGINT NOT NULL,
  PRIMARY KEY (turnout_id, version)
);

-- +goose Down
DROP TABLE turnout_versions;
DROP TABLE plan_versions;
