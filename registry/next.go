package registry

import (
	"maps"
	"slices"
)

// NextStep is something that can be done next: an action by its name, what it is done to, and what is still
// to be found out for it. It is data: the command line says it as a command, the desk as a key, a page as a
// button.
type NextStep struct {
	Action string            `json:"action"`
	Tag    Tag               `json:"tag,omitempty"`
	Order  string            `json:"order,omitempty"`
	Given  map[string]string `json:"given,omitempty"` // what else is known, by the names of fields
	// names of the fields that whoever does it has to give
	Missing []string `json:"missing,omitempty"`
}

// Next makes the step of an action; tag is empty when it is done to no one machine or base.
func Next(action string, tag Tag) NextStep {
	return NextStep{Action: action, Tag: tag, Missing: slices.Clone(asks[action])}
}

// Of names the order that the step is about.
func (s NextStep) Of(order string) NextStep {
	s.Order = order
	s.Missing = slices.DeleteFunc(slices.Clone(s.Missing), func(m string) bool { return m == "order" })
	return s
}

// With gives a field of the step its value, so that it is missing no longer.
func (s NextStep) With(field, value string) NextStep {
	given := map[string]string{field: value}
	maps.Copy(given, s.Given)
	s.Given = given
	s.Missing = slices.DeleteFunc(slices.Clone(s.Missing), func(m string) bool { return m == field })
	return s
}

// Asking names fields that whoever does the step has to give.
func (s NextStep) Asking(fields ...string) NextStep {
	s.Missing = append(slices.Clone(s.Missing), fields...)
	return s
}

// Actions that are no moves from stage to stage, and yet come next after a refusal.
const (
	DoInit         = "make a house"
	DoRestore      = "restore"
	DoVerify       = "verify"
	DoRenew        = "back up and restore"
	DoLogAgain     = "log it again"
	DoTakeAgain    = "take it in again"
	DoUpdate       = "import and update"
	DoMapColumn    = "name a column"
	DoLeaveColumn  = "leave a column out"
	DoAmend        = "amend"
	DoAmendBase    = "amend a base"
	DoReadPlates   = "read plates"
	DoAddBase      = "add a base"
	DoUndo         = "undo"
	DoShow         = "show"
	DoShowBase     = "show a base"
	DoFind         = "find"
	DoListBases    = "list bases"
	DoStages       = "list the moves"
	DoMove         = "move"
	DoSlip         = "print the fault slip"
	DoListOrders   = "list orders"
	DoShowOrder    = "show an order"
	DoOpenOrder    = "open an order"
	DoOrderLine    = "ask for more in an order"
	DoAmendOrder   = "amend an order"
	DoCancelOrder  = "cancel an order"
	DoSwap         = "swap"
	DoPropose      = "propose"
	DoListSpares   = "list spares"
	DoCountSpares  = "count spares"
	DoCountStock   = "count the stock of kits"
	DoPutKit       = "put the kit with it"
	DoKitBack      = "put the kit back into stock"
	DoHandOver     = "hand over"
	DoTakeOver     = "take over"
	DoGrow         = "grow a house"
	DoBought       = "fit one that was bought"
	DoSafetyResult = "record a safety test"
	DoTestResult   = "record a function test"
	DoWorkDone     = "say that work is done"
	DoListWork     = "list the work of orders"
	DoSetPIN       = "set a PIN"
	DoAddPartner   = "add a partner"
	DoListPapers   = "list the papers of an order"
	DoListPartners = "list partners"
	DoAmendPartner = "amend a partner"
	DoShowShipment = "show a shipment"
	DoAmendShip    = "amend a shipment"
	DoListShips    = "list shipments"
	DoListPledges  = "list pledges"
	DoListTakings  = "list takings"
	DoNewShipment  = "begin a shipment"
	DoLoad         = "put an order on a shipment"
	DoUnload       = "take an order off a shipment"
	DoSend         = "send a shipment"
	DoArrive       = "say that a shipment arrived"
	DoListHouses   = "list what other houses have"
	DoKeepHouse    = "keep what another house has"
	DoDropHouse    = "forget what another house has"
)

// asks says what each action asks of whoever does it, beside what it is done to.
var asks = map[string][]string{
	DoRefurbish: {"why"}, DoStrip: {"why"}, DoSell: {"why"}, DoScrap: {"why"}, DoHold: {"why"},
	DoBenchStart: nil, DoBenchMend: nil, DoBenchNote: {"job"}, DoBenchDone: nil,
	DoTestPass: {"pass"}, DoTestFail: {"fail"}, DoSafePass: {"class", "visual"},
	DoSafeClear: {"class", "visual"}, DoSafeFail: {"class"},
	DoConvert: {"to"}, DoRelease: nil, DoReserve: nil, DoUnreserve: {"order"}, DoPack: {"order"},
	DoUnpack: {"order"},
	DoShip:   {"order"}, DoReportBack: {"note"}, DoTake: {"part"}, DoFit: {"part"}, DoNeed: {"part"},
	DoBaseReady: nil, DoBaseLack: {"parts"},

	DoInit: {"house"}, DoRestore: {"file"}, DoVerify: nil, DoRenew: {"file"}, DoLogAgain: nil,
	DoTakeAgain: {"file"}, DoUpdate: {"file"},
	DoMapColumn: {"field"}, DoLeaveColumn: nil, DoAmend: nil, DoAmendBase: nil, DoReadPlates: nil,
	DoAddBase: nil, DoUndo: nil,
	DoShow: nil, DoShowBase: nil,
	DoFind: {"text"}, DoListBases: nil, DoStages: nil, DoMove: {"place"}, DoSlip: nil, DoListOrders: nil,
	DoShowOrder: nil,
	DoOpenOrder: {"for", "due"}, DoOrderLine: {"kind", "qty"}, DoAmendOrder: nil, DoCancelOrder: nil,
	DoSwap:    nil,
	DoPropose: nil, DoListSpares: nil, DoCountSpares: {"number"}, DoCountStock: {"number"}, DoPutKit: nil,
	DoKitBack:  nil,
	DoHandOver: nil,
	DoTakeOver: {"file"}, DoGrow: {"dir", "number"}, DoBought: {"part"}, DoSafetyResult: nil,
	DoTestResult: nil, DoWorkDone: {"id"}, DoListWork: nil,
	DoSetPIN: {"initials"}, DoAddPartner: {"name"}, DoListPapers: nil, DoListPartners: nil,
	DoAmendPartner: {"name"}, DoShowShipment: nil, DoAmendShip: {"shipment"}, DoListShips: nil,
	DoListPledges: nil, DoListTakings: nil,
	DoNewShipment: nil,
	DoLoad:        {"shipment", "order"},
	DoUnload:      {"shipment", "order"}, DoSend: {"shipment"}, DoArrive: {"shipment"},
	DoListHouses: nil, DoKeepHouse: {"file"}, DoDropHouse: {"letters"},
}

// Actions lists every action that a step can name.
func Actions() []string { return slices.Sorted(maps.Keys(asks)) }
