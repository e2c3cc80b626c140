package strict

import "strconv"

// Whole gives the document as plain data like [Value.Plain], with the keys that
// readers never see ("notes", "x-…") in it, so that who changes a value and
// writes the document again loses nothing of it but remarks behind #. Keys with
// nothing behind them are left out. It faults nothing: read the document first.
func (d *Doc) Whole() any { return d.root.whole() }

func (n *node) whole() any {
	if n == nil || n.isNull() {
		return nil
	}
	switch n.kind {
	case list:
		out := []any{}
		for _, c := range n.items {
			if v := c.whole(); v != nil {
				out = append(out, v)
			}
		}
		return out
	case mapping:
		out := map[string]any{}
		for _, k := range n.keys {
			if v := k.node.whole(); v != nil {
				out[k.name] = v
			}
		}
		return out
	}
	switch s := n.text; {
	case n.quoted:
		return s
	case s == "true" || s == "false":
		return s == "true"
	case isDecimal(s):
		if f, err := strconv.ParseFloat(s, 64); err == nil {
			return f
		}
	}
	return n.text
}
