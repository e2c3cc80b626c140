-- +goose Up
-- People's jobs beside a trial, by version; document is a rota/1 file.
CREATE TABLE rota_versions (
  trial_id TEXT   NOT NULL,
  version  BIGINT NOT NULL CHECK (version >= 1),
  name     TEXT   NOT NULL,
  note     TEXT   NOT NULL,
  kept_by  TEXT   NOT NULL,
  document TEXT   NOT NULL,
  saved_ms BIGINT NOT NULL,
  PRIMARY KEY (trial_id, version)
);

-- +goose Down
DROP TABLE rota_versions;
