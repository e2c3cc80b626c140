package sheet

func clinic(in *HazardInput) ([]Scene, error) { return nil, nil }
