package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"terret/internal/fault"
)

// Exit statuses of docs/files.md.
const (
	exitAnswered = 0 // answered
	exitBroke    = 1 // something broke: disk, network, a bug
	exitWrong    = 2 // the input or the usage is wrong; stdout stays empty
	exitNo       = 3 // answered, and the answer is no
)

// errNo is returned by a command that has given its answer, and the answer is
// no: nothing more is said.
var errNo = errors.New("the answer is no")

// commands is the whole command line. Each field's type is in a file of its own.
type commands struct {
	Cones   conesCommands   `cmd:"" help:"Drive a cones course: line, length, time, room to spare."`
	Gait    gaitCommands    `cmd:"" help:"Read hoof prints and motion logs: which trot, what stride."`
	Hazard  hazardCommands  `cmd:"" help:"Plan a hazard, or judge a drive through one."`
	Rota    rotaCommand     `cmd:"" help:"The jobs of the day: what is uncovered, who is wanted twice, whom to ask."`
	Rules   rulesCommands   `cmd:"" help:"Rule profiles: list them, show every value with its source, check your own."`
	Serve   serveCommand    `cmd:"" help:"Serve the pages: the drawing, the turnouts, the papers."`
	Sheets  sheetsCommand   `cmd:"" help:"Draw a paper to be printed: for drivers, for a clinic, for builders."`
	Survey  surveyCommands  `cmd:"" help:"Set a layout out with tapes, and take back what was built."`
	Trial   trialCommands   `cmd:"" help:"Run and score a driving day: order of go, totals, tables in and out."`
	Turnout turnoutCommands `cmd:"" help:"Look a turnout over: checks with their arithmetic, the check card."`
	Version versionCommand  `cmd:"" help:"Say which edition of Terret this is."`
}

type conesCommands struct {
	Drive conesDriveCommand `cmd:"" help:"Drive the numbered pairs with each turnout: length, time, room to spare, cures."`
}

type hazardCommands struct {
	Judge  hazardJudgeCommand  `cmd:"" help:"Rule on a drive through a hazard, gate by gate."`
	Routes hazardRoutesCommand `cmd:"" help:"Every way a turnout may drive through a hazard, timed."`
}

type rulesCommands struct {
	Check rulesCheckCommand `cmd:"" help:"Read a profile of your own and say what it changes."`
	List  rulesListCommand  `cmd:"" help:"The rule profiles there are."`
	Show  rulesShowCommand  `cmd:"" help:"Every value of a profile with its source."`
}

type surveyCommands struct {
	Adjust surveyAdjustCommand `cmd:"" help:"Where taped points really stand, and which tape is wrong."`
	Stakes surveyStakesCommand `cmd:"" help:"Two tapes, offset and check for every point, in working order."`
}

type trialCommands struct {
	Export trialExportCommand `cmd:"" help:"Write a trial or its results as a workbook, CSV or a trial file."`
	Import trialImportCommand `cmd:"" help:"Take a trial in from workbooks, CSV or a trial file, and keep it for the pages."`
	Order  trialOrderCommand  `cmd:"" help:"The order of go, with every wish that is not kept."`
	Score  trialScoreCommand  `cmd:"" help:"Totals, places and ties, with every number's working."`
}

// streams is what a command talks to. out is held back until the command has ended,
// so that an answer is written whole or not at all; now writes at once.
type streams struct {
	ctx context.Context
	out *bytes.Buffer
	now io.Writer // standard output, unbuffered: for what runs on, like serve
	err io.Writer
}

// warn writes one line for a person.
func (s *streams) warn(text string) { fmt.Fprintln(s.err, "terret: note: "+text) }

// exitCode is how kong's wish to end the program (after --help) gets out of its
// parser.
type exitCode int

// run is the program without the process: it gives the exit status.
func run(args []string, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return guarded(stderr, func() int { return command(ctx, args, stdout, stderr) })
}

// guarded turns a panic into one line: a stack helps nobody in a field.
func guarded(stderr io.Writer, f func() int) (status int) {
	defer func() {
		switch r := recover().(type) {
		case nil:
		case exitCode:
			status = int(r)
		default:
			fmt.Fprintf(stderr, "terret: something broke inside: %s (a fault of the program; please report it with the files you used)\n", oneLine(fmt.Sprint(r)))
			status = exitBroke
		}
	}()
	return f()
}

// command reads the arguments and runs what they ask for.
func command(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	s := &streams{ctx: ctx, out: &bytes.Buffer{}, now: stdout, err: stderr}
	var c commands
	parser, err := kong.New(&c,
		kong.Name("terret"),
		kong.Description("Terret helps a carriage-driving instructor plan practice hazards, see what each turnout can drive, and run the day."),
		kong.Writers(stdout, stderr),
		kong.Exit(func(code int) { panic(exitCode(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.ValueFormatter(plainHelp),
		kong.Bind(s),
	)
	if err != nil {
		panic(err) // the struct above is wrong: a programmer's fault
	}
	k, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(stderr, "terret: %s\n", oneLine(err.Error()))
		fmt.Fprintf(stderr, "terret: `%s --help` says what can be asked, with examples\n", commandOf(err))
		return exitWrong
	}
	return finish(k.Run(), s, stdout)
}

// finish writes the answer and turns the command's error into an exit status:
// the one place that does.
func finish(err error, s *streams, stdout io.Writer) int {
	if err == nil || errors.Is(err, errNo) {
		if _, werr := s.out.WriteTo(stdout); werr != nil {
			fmt.Fprintf(s.err, "terret: the answer could not be written: %s\n", oneLine(werr.Error()))
			return exitBroke
		}
		if err != nil {
			return exitNo
		}
		return exitAnswered
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(s.err, "terret: stopped before there was an answer")
		return exitBroke
	}
	code, known := fault.CodeOf(err)
	if !known || code == fault.Conflict {
		fmt.Fprintf(s.err, "terret: something broke: %s\n", oneLine(err.Error()))
		return exitBroke
	}
	for line := range strings.Lines(err.Error()) { // a list of faults has a line for each
		fmt.Fprintf(s.err, "terret: %s\n", strings.TrimRight(line, "\n"))
	}
	return exitWrong
}

// commandOf is the command whose help would have answered.
func commandOf(err error) string {
	var p *kong.ParseError
	if errors.As(err, &p) && p.Context != nil {
		if n := p.Context.Selected(); n != nil {
			return n.FullPath()
		}
		for i := len(p.Context.Path) - 1; i >= 0; i-- {
			if n := p.Context.Path[i].Command; n != nil {
				return n.FullPath()
			}
		}
	}
	return "terret"
}

// plainHelp leaves out what kong would add to an option's help.
func plainHelp(v *kong.Value) string { return v.Help }

// oneLine joins lines, so that a message stays one.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
