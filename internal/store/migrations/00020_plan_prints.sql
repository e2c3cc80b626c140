-- +goose Up
CREATE TABLE plan_prints (
  plan_id    TEXT   NOT NULL,
  kind       TEXT   NOT NULL,
  subject    TEXT   NOT NULL,
  printed_ms BIGINT NOT NULL,
  version    BIGINT NOT NULL CHECK (version >= 1),
  PRIMARY KEY (plan_id, kind, subject, printed_ms, version)
);

-- +goose Down
DROP TABLE plan_prints;
