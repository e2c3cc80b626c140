package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"terret/internal/fault"
	"terret/internal/rules"
	"terret/internal/sheet"
	"terret/internal/turnout"
)

type turnoutCardCommand struct {
	File  string   `arg:"" help:"File of the turnout (terret: turnout/1)."`
	Out   string   `placeholder:"F" help:"File to write, .txt, .json, .pdf or .svg; standard output (text) otherwise."`
	Kind  string   `default:"check" enum:"check,putting-to" placeholder:"KIND" help:"check or putting-to (check). A .json file holds both."`
	Order []string `placeholder:"JOINTS" help:"The school's order of the joints, such as traces,tugs,holdbacks,bellyband; for a pole polestraps,traces."`
	Green bool     `help:"A green driver or horse: one more line at the head of the card."`
	Rules string   `placeholder:"PROFILE" help:"Rule profile, by its name or as a file (three-phase): least track and weight."`
	Paper string   `default:"a4" placeholder:"a4|letter" help:"Size of the paper of a .pdf or .svg: a4 or letter (a4)."`
	dayFlags
}

func (turnoutCardCommand) Help() string {
	return `Writes the card for the person who looks a turnout over: in the order of a walk round it, only the lines that apply to it, with what the numbers of its file say beside them, what is due, and room for reason, name and time. One side of A4. The card is for the checker, never for the person at the horse's head, and says no more than what was looked at.

Examples:

  terret turnout card examples/turnouts/pair.yaml --out card.pdf

  terret turnout card cob.yaml --green --out card.json

  terret turnout card cob.yaml --kind putting-to --order traces,tugs,holdbacks,bellyband`
}

func (c turnoutCardCommand) Run(s *streams) error {
	form := strings.ToLower(filepath.Ext(c.Out))
	if c.Out != "" && !slices.Contains([]string{".txt", ".json", ".pdf", ".svg"}, form) {
		return &fault.Fault{Code: fault.Usage, Rule: "card-out", Place: "--out", Message: fmt.Sprintf("%s is neither text, JSON, PDF nor SVG", c.Out), Hint: "name a file that ends in .txt, .json, .pdf or .svg"}
	}
	paper, err := sheet.PaperNamed(c.Paper)
	if err != nil {
		return err
	}
	day, err := c.conditions()
	if err != nil {
		return err
	}
	if day.Rules, err = rules.Load(c.Rules); err != nil {
		return err
	}
	t, odd, err := turnout.Load(c.File)
	if err != nil {
		return err
	}
	card, err := turnout.NewCard(t, turnout.CardOptions{Conditions: day, Green: c.Green, Joints: c.Order})
	if err != nil {
		return placed(err, c.File)
	}
	for _, w := range odd {
		s.warn(w.String())
	}
	doc := []byte(card.Text())
	if c.Kind == "putting-to" {
		doc = []byte(card.ProcedureText())
	}
	switch form {
	case ".pdf", ".svg":
		kind := map[string]string{"check": sheet.CheckCardKind, "putting-to": sheet.PuttingToKind}[c.Kind]
		if doc, err = drawnTurnout(kind, sheet.TurnoutInput{Turnout: t, Card: card, Paper: paper, PrintedAt: time.Now()}, form == ".svg"); err != nil {
			return err
		}
	case ".json":
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		if err := e.Encode(card); err != nil {
			return err
		}
		doc = b.Bytes()
	}
	if c.Out != "" {
		return writeWhole(c.Out, doc)
	}
	_, err = s.out.Write(doc)
	return err
}
