package sheet

func builders(in *HazardInput) []Scene { return nil }
