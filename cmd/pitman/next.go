package main

import (
	"cmp"
	"errors"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
)

// commandOf is the one place that knows which command does an action of the registry. A word in capitals is
// replaced by what the step knows, and stays where that is missing; fields for which no word stands here
// follow as flags.
var commandOf = map[string]string{
	"triage to refurbish": "pitman triage TAG --to refurbish",
	"triage to parts":     "pitman triage TAG --to parts",
	"triage to sale":      "pitman triage TAG --to sale",
	"triage to scrap":     "pitman triage TAG --to scrap",

	"bench start":                            "pitman bench start TAG",
	"bench start after a failed safety test": "pitman bench start TAG",
	"bench note":                             "pitman bench note TAG",
	"bench finish":                           "pitman bench finish TAG",

	"a passed function test":                  "pitman test TAG --pass all",
	"a failed function test":                  "pitman test TAG --fail POINT=FAULT",
	"a passed safety test":                    "pitman safety TAG --class CLASS --visual pass ...",
	"a passed safety test after a failed one": "pitman safety TAG --class CLASS --visual pass ...",
	"a failed safety test":                    "pitman safety TAG --class CLASS --visual fail",
	"convert":                                 "pitman convert TAG --to DRIVE",
	"hold":                                    "pitman hold TAG",
	"release":                                 "pitman release TAG",
	"reserve":                                 "pitman match --confirm",
	"give back":                               "pitman order release ORDER",
	"pack":                                    "pitman order pack ORDER",
	"unpack":                                  "pitman order unpack ORDER TAG",
	"ship":                                    "pitman order ship ORDER",
	"report back":                             "pitman report-back TAG",
	"spare take":                              "pitman spare take TAG PART",
	"spare fit":                               "pitman spare fit TAG PART",
	"spare need":                              "pitman spare need TAG PART",
	"make ready":                              "pitman base ready TAG",
	"lack a part":                             "pitman base amend TAG --parts LIST",
	registry.DoInit:                           "pitman --house HOUSE init",
	registry.DoRestore:                        "pitman restore FILE --house NEW",
	registry.DoVerify:                         "pitman verify",
	registry.DoRenew:                          "pitman backup FILE, then pitman restore FILE --house NEW",
	registry.DoLogAgain:                       "pitman log --again",
	registry.DoTakeAgain:                      "pitman bundle in FILE --again",
	registry.DoUpdate:                         "pitman import FILE --update",
	registry.DoMapColumn:                      "--map",
	registry.DoLeaveColumn:                    "--map",
	registry.DoAmend:                          "pitman amend TAG",
	registry.DoAmendBase:                      "pitman base amend TAG",
	registry.DoReadPlates:                     "pitman plate list",
	registry.DoAddBase:                        "pitman base add",
	registry.DoUndo:                           "pitman undo TAG",
	registry.DoShow:                           "pitman show TAG",
	registry.DoShowBase:                       "pitman base show TAG",
	registry.DoFind:                           "pitman list --text WORDS",
	registry.DoListBases:                      "pitman base list",
	registry.DoStages:                         "pitman stages",
	registry.DoMove:                           "pitman move TAG PLACE",
	registry.DoSlip:                           "pitman slip TAG",
	registry.DoListOrders:                     "pitman order list",
	registry.DoShowOrder:                      "pitman order show ORDER",
	registry.DoOpenOrder:                      "pitman order open",
	registry.DoOrderLine:                      "pitman order line ORDER KIND QTY",
	registry.DoAmendOrder:                     "pitman order amend ORDER",
	registry.DoCancelOrder:                    "pitman order cancel ORDER",
	registry.DoSwap:                           "pitman order swap TAG",
	registry.DoPropose:                        "pitman match",
	registry.DoListSpares:                     "pitman spare list TAG",
	registry.DoCountSpares:                    "pitman spare count PART NUMBER",
	registry.DoCountStock:                     "pitman kit stock count PART NUMBER",
	registry.DoPutKit:                         "pitman kit put TAG",
	registry.DoKitBack:                        "pitman kit back TAG",
	registry.DoHandOver:                       "pitman bundle out",
	registry.DoTakeOver:                       "pitman bundle in FILE",
	registry.DoGrow:                           "pitman growth make DIR --machines NUMBER",
	registry.DoBought:                         "pitman spare fit TAG PART --bought",
	registry.DoSafetyResult:                   "pitman safety TAG",
	registry.DoTestResult:                     "pitman test TAG",
	registry.DoWorkDone:                       "pitman work done ID",
	registry.DoListWork:                       "pitman work list",
	registry.DoAddPartner:                     "pitman partner add NAME",
	registry.DoListPapers:                     "pitman order papers ORDER",
	registry.DoListPartners:                   "pitman partner list",
	registry.DoAmendPartner:                   "pitman partner amend NAME",
	registry.DoSetPIN:                         "pitman people pin INITIALS",
	registry.DoShowShipment:                   "pitman shipment show SHIPMENT",
	registry.DoAmendShip:                      "pitman shipment amend SHIPMENT",
	registry.DoListTakings:                    "pitman takings",
	registry.DoListPledges:                    "pitman need pledges",
	registry.DoListShips:                      "pitman shipment list",
	registry.DoNewShipment:                    "pitman shipment new",
	registry.DoLoad:                           "pitman shipment add SHIPMENT ORDER",
	registry.DoUnload:                         "pitman shipment remove SHIPMENT ORDER",
	registry.DoSend:                           "pitman shipment ship SHIPMENT",
	registry.DoArrive:                         "pitman shipment arrive SHIPMENT",
	registry.DoListHouses:                     "pitman neighbour list",
	registry.DoKeepHouse:                      "pitman neighbour add FILE",
	registry.DoDropHouse:                      "pitman neighbour drop LETTERS",
}

// command is how a step is typed.
func command(s registry.NextStep) string {
	known := map[string]string{"tag": string(s.Tag), "order": s.Order}
	for name, value := range s.Given {
		known[name] = value
	}
	if tags := known["tags"]; tags != "" { // what goes together is named together
		known["tag"] = tags
	}
	switch s.Action {
	case registry.DoMapColumn:
		return "--map " +
			strconv.Quote(cmp.Or(s.Given["column"], "COLUMN")+"="+cmp.Or(s.Given["field"], "FIELD"))
	case registry.DoLeaveColumn:
		return "--map " + strconv.Quote(cmp.Or(s.Given["column"], "COLUMN")+"=-")
	}
	var words []string
	said := map[string]bool{}
	for _, word := range strings.Fields(commandOf[s.Action]) {
		name := strings.ToLower(word)
		switch value := known[name]; {
		case strings.HasPrefix(word, "--"):
			said[strings.TrimPrefix(word, "--")] = true
		case word == strings.ToUpper(word) && value != "":
			if word = value; name != "tag" {
				word = quoted(value)
			}
			fallthrough
		case word == strings.ToUpper(word):
			said[name] = true
		}
		words = append(words, word)
	}
	// A list is asked for as a whole where the step names nothing in it.
	if s.Action == registry.DoListSpares && s.Tag == "" {
		words = words[:len(words)-1]
	}
	// What is given back is one piece of the order, where the step names one.
	if s.Action == registry.DoUnreserve && slices.Contains(s.Missing, "tag") {
		words = append(words, "TAG")
		said["tag"] = true
	}
	if s.Action == registry.DoUnreserve && s.Order != "" && s.Tag != "" {
		words = append(words, string(s.Tag))
	}
	for _, name := range slices.Sorted(maps.Keys(s.Given)) {
		switch {
		case said[name] || name == "tags":
		case s.Given[name] == "": // a flag that stands for itself
			words = append(words, "--"+name)
		default:
			words = append(words, "--"+name, quoted(s.Given[name]))
		}
	}
	for _, name := range s.Missing {
		if !said[name] {
			words = append(words, "--"+name, valueOf(name))
		}
	}
	return strings.Join(words, " ")
}

func quoted(value string) string {
	if strings.ContainsAny(value, " \t\"'") {
		return strconv.Quote(value)
	}
	return value
}

// told is a refusal in the words of the command line: its sentence, and the command or the flag that comes
// next. cmd is the command that was refused; nil when its flags are not what the person is asked for.
func told(err error, cmd *cobra.Command) string {
	sentence := strings.Join(strings.Fields(err.Error()), " ")
	var refused *registry.Error
	if !errors.As(err, &refused) {
		return sentence
	}
	ways := commands(refused.Next)
	if len(ways) == 0 && refused.Field != "" && cmd != nil {
		if flag := cmd.Flags().Lookup(refused.Field); flag != nil && !flag.Changed {
			ways = append(ways, "--"+flag.Name)
		}
	}
	return withWays(sentence, ways)
}

// withCommands is a sentence and the commands of the steps that come next.
func withCommands(sentence string, next []registry.NextStep) string {
	return withWays(sentence, commands(next))
}

// valueOf names what a flag asks for, as its help does.
func valueOf(name string) string {
	if name == "close-short" {
		return "WHY"
	}
	return strings.ToUpper(name)
}

func commands(next []registry.NextStep) (typed []string) {
	for _, step := range next {
		typed = append(typed, command(step))
	}
	return typed
}

func withWays(sentence string, ways []string) string {
	if len(ways) == 0 {
		return sentence
	}
	join := ": next is "
	if strings.Contains(sentence, ": ") {
		join = ", with "
	}
	return sentence + join + strings.Join(ways, " or ")
}
