package store

// Pragma asks SQLite for a setting of the connection in use.
func Pragma(s *Store, name string) string {
	var v string
	if err := s.db.QueryRow("PRAGMA " + name).Scan(&v); err != nil {
		return err.Error()
	}
	return v
}
