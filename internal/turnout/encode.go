package turnout

import (
	"maps"
	"slices"

	"terret/internal/strict"
)

// Encode writes t as YAML, keys in the order of docs/files.md, numbers in full:
// what Decode reads back is t again.
func Encode(t *Turnout) ([]byte, error) { return strict.YAML(tree(t)) }

// EncodeJSON writes the same tree as JSON.
func EncodeJSON(t *Turnout) ([]byte, error) { return strict.JSON(tree(t)) }

func tree(t *Turnout) strict.Map {
	m := strict.Map{{Key: "terret", Value: Format}, {Key: "name", Value: t.Name}, {Key: "hitch", Value: t.Hitch}, {Key: "size", Value: t.Size}}
	h := strict.Map{{Key: "nose", Value: t.Horse.Nose}, {Key: "rump", Value: t.Horse.Rump}, {Key: "width", Value: t.Horse.Width}}
	if t.Abreast() || t.Horse.Apart != 0 {
		h.Put("apart", t.Horse.Apart)
	}
	h.Put("bend", strict.InDegrees(t.Horse.Bend))
	m.Put("horse", h)
	if t.HasLeaders() {
		m.Put("leaders", strict.Map{{Key: "ahead", Value: t.Ahead}})
	}
	v := strict.Map{{Key: "wheels", Value: t.Vehicle.Wheels}, {Key: "track", Value: t.Vehicle.Track}, {Key: "hubs", Value: t.Vehicle.Hubs}, {Key: "shafts", Value: t.Vehicle.Shafts}}
	if t.Vehicle.Wheels == 4 {
		v.Put("wheelbase", t.Vehicle.Wheelbase)
	}
	if t.Vehicle.Wheels == 4 || t.Vehicle.Body != 0 {
		v.Put("body", t.Vehicle.Body)
	}
	v.Put("lock", strict.InDegrees(t.Vehicle.Lock))
	if t.Vehicle.CGHeight != 0 {
		v.Put("cg_height", t.Vehicle.CGHeight)
	}
	m.Put("vehicle", v)
	m.Put("turning", t.Turning.tree())
	var lateral strict.Tree = t.Pace.Lateral.Left
	if t.Pace.Lateral.Left != t.Pace.Lateral.Right {
		lateral = t.Pace.Lateral.tree()
	}
	m.Put("pace", strict.Map{{Key: "speed", Value: t.Pace.Speed}, {Key: "lateral", Value: lateral}, {Key: "gain", Value: t.Pace.Gain}, {Key: "loss", Value: t.Pace.Loss}})
	if len(t.Paces) > 0 {
		var p strict.Map
		for _, k := range slices.Sorted(maps.Keys(t.Paces)) {
			p.Put(k, t.Paces[k])
		}
		m.Put("paces", p)
	}
	m.Put("margin", t.Margin)
	for _, s := range sections {
		if v, ok := t.Extra[s.name]; ok {
			m.Put(s.name, strict.FromPlain(v))
		}
	}
	return m
}

func (h Hands) tree() strict.Map {
	return strict.Map{{Key: "left", Value: h.Left}, {Key: "right", Value: h.Right}}
}
