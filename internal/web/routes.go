package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"endcast/internal/domain/authz"
	"endcast/internal/domain/fault"
	"endcast/internal/web/apidoc"
	"endcast/static"
)

// handlerFunc is a page action. What it returns is turned into a status and a page
// by Server.fail; it must not have written anything by then.
type handlerFunc func(w http.ResponseWriter, r *http.Request) error

// route is one address: who may ask for it and who answers. A pattern that begins
// with /p/{program} is answered only to people with a role in that program.
type route struct {
	method  string
	pattern string
	action  authz.Action
	handler handlerFunc
	body    int64             // limit of the request body in bytes; 0 means bodyLimit
	ask     *apidoc.Operation // what a program may send and gets; nil for a page
}

// upTo returns the route with another limit of the request body, for uploads.
func (rt route) upTo(bytes int64) route {
	rt.body = bytes
	return rt
}

const (
	get  = http.MethodGet
	post = http.MethodPost
)

func on(method, pattern string, action authz.Action, h handlerFunc) route {
	return route{method: method, pattern: pattern, action: action, handler: h}
}

// table lists every address of the program but the embedded files and the health
// check. Keep a line a route, grouped by the file that answers.
func (s *Server) table() []route {
	return append(s.askTable(), []route{
		// login
		on(get, "/login", authz.Public, s.loginForm),
		on(post, "/login", authz.Public, s.loginSubmit),
		on(get, signOnPath, authz.Public, s.signOnStart),
		on(get, signOnBack, authz.Public, s.signOnReturn),
		on(post, "/logout", authz.OwnAccount, s.logout),

		// account
		on(get, "/", authz.OwnAccount, s.accountPrograms),
		on(get, "/bridges", authz.OwnAccount, s.portfolioShow),
		on(get, "/account", authz.OwnAccount, s.accountShow),
		on(post, "/account/reading", authz.OwnAccount, s.accountReading),
		on(post, "/account/password", authz.OwnAccount, s.accountPassword),
		on(post, "/account/sessions", authz.OwnAccount, s.sessionEnd),
		on(post, "/account/tokens", authz.OwnAccount, s.tokenAct),
		on(post, "/account/notices", authz.OwnAccount, s.accountNotices),

		// bridge, ends, work
		on(get, programPrefix, authz.SeeProgram, s.bridgeShow),
		on(get, programPrefix+"/ends", authz.SeeProgram, s.endList),
		on(get, programPrefix+"/work", authz.SeeProgram, s.workShow),
		on(get, programPrefix+"/board", authz.SeeProgram, s.boardShow),
		on(get, programPrefix+"/notices", authz.SeeProgram, s.noticesShow),

		// end
		on(get, programPrefix+"/ends/{end}", authz.SeeProgram, s.endShow),
		on(get, programPrefix+"/ends/{end}/edit", authz.EditEnd, s.endEdit),
		on(post, programPrefix+"/ends/{end}/edit", authz.EditEnd, s.endEditSubmit),
		on(post, programPrefix+"/ends/{end}/steps/{step}", authz.CompleteStep, s.endStep),

		// sheet
		on(get, programPrefix+"/ends/{end}/sheet", authz.SeeProgram, s.sheetShow),
		on(get, programPrefix+"/ends/{end}/sheet/paper.css", authz.SeeProgram, s.sheetPaper),

		// survey
		on(get, programPrefix+"/ends/{end}/surveys/new", authz.RecordSurvey, s.surveyNew),
		on(post, programPrefix+"/ends/{end}/surveys", authz.RecordSurvey, s.surveyRecord).upTo(surveyLimit),
		on(post, programPrefix+"/ends/{end}/surveys/preview", authz.RecordSurvey, s.surveyPreview).upTo(surveyLimit),
		on(get, programPrefix+"/ends/{end}/surveys/{n}/edit", authz.RecordSurvey, s.surveyEdit),
		on(post, programPrefix+"/ends/{end}/surveys/{n}/edit", authz.RecordSurvey, s.surveyCorrect).upTo(surveyLimit),

		// design, review
		on(get, programPrefix+"/ends/{end}/design", authz.SeeProgram, s.designShow),
		on(post, programPrefix+"/ends/{end}/design", authz.EditDesign, s.designSave),
		on(post, programPrefix+"/ends/{end}/design/preview", authz.EditDesign, s.designPreview),
		on(post, programPrefix+"/ends/{end}/design/submit", authz.SubmitDesign, s.designSubmit),
		on(get, programPrefix+"/ends/{end}/designs/{rev}", authz.SeeProgram, s.designRevision),
		on(get, programPrefix+"/ends/{end}/designs/{rev}/review", authz.SeeProgram, s.reviewShow),
		on(post, programPrefix+"/ends/{end}/designs/{rev}/review", authz.ReviewDesign, s.reviewDecide),
		on(post, programPrefix+"/ends/{end}/designs/{rev}/confirm", authz.ConfirmDesign, s.reviewConfirm),
		on(get, programPrefix+"/ends/{end}/compare", authz.SeeProgram, s.compareShow),
		on(post, programPrefix+"/ends/{end}/designs/{rev}/questions", authz.DiscussDesign, s.questionAsk),
		on(post, programPrefix+"/ends/{end}/questions/{question}", authz.DiscussDesign, s.questionSay),
		on(get, programPrefix+"/reviews", authz.SeeProgram, s.reviewList),
		on(get, programPrefix+"/reviews/together", authz.SeeProgram, s.reviewTogether),
		on(post, programPrefix+"/reviews/together", authz.ReviewDesign, s.reviewTogetherDecide),

		// family
		on(get, programPrefix+"/families", authz.SeeProgram, s.familyShow),
		on(post, programPrefix+"/families", authz.EditDesign, s.familyDraft),

		// history
		on(get, programPrefix+"/history", authz.SeeHistory, s.programHistory),
		on(get, programPrefix+"/history/value", authz.SeeHistory, s.valueHistory),
		on(get, programPrefix+"/ends/{end}/history", authz.SeeHistory, s.endHistory),
		on(get, programPrefix+"/ends/{end}/past", authz.SeeHistory, s.pastShow),

		// files
		on(get, programPrefix+"/files", authz.Export, s.filesShow),
		on(get, programPrefix+"/files/bridge.xlsx", authz.Export, s.filesBook),
		on(get, programPrefix+"/files/package.zip", authz.Export, lasting(s.filesPackage)),
		on(get, programPrefix+"/ends/{end}/package.zip", authz.Export, lasting(s.endPackage)),
		on(get, programPrefix+"/files/bridge.zip", authz.Export, s.filesText),
		on(get, programPrefix+"/files/tables.xlsx", authz.Export, s.filesBlankBook),
		on(get, programPrefix+"/files/tables.zip", authz.Export, s.filesBlankText),
		on(post, programPrefix+"/files/import", authz.Import, s.filesUpload).upTo(importLimit),
		on(get, programPrefix+"/files/import/{draft}", authz.Import, s.filesPreview),
		on(post, programPrefix+"/files/import/{draft}", authz.Import, s.filesConfirm),

		// sequence
		on(get, programPrefix+"/sequence", authz.SeeProgram, s.sequenceShow),
		on(get, programPrefix+"/sequence/edit", authz.EditSequence, s.sequenceEdit),
		on(post, programPrefix+"/sequence/edit", authz.EditSequence, s.sequenceSubmit),

		// basis
		on(get, programPrefix+"/basis", authz.SeeProgram, s.basisList),
		on(get, programPrefix+"/basis/{key}", authz.SeeProgram, s.basisShow),
		on(post, programPrefix+"/basis/{key}", authz.EditBasis, s.basisSubmit),

		// procedure
		on(get, programPrefix+"/procedures", authz.SeeProgram, s.procedureList),
		on(get, programPrefix+"/procedures/new", authz.EnterProcedure, s.procedureNew),
		on(post, programPrefix+"/procedures", authz.EnterProcedure, s.procedureEnter),
		on(get, programPrefix+"/procedures/{procedure}", authz.SeeProgram, s.procedureShow),
		on(post, programPrefix+"/procedures/{procedure}", authz.DecideProcedure, s.procedureAct),

		// rank
		on(get, programPrefix+"/first", authz.SeeProgram, s.rankShow),
		on(get, programPrefix+"/assumptions", authz.SeeProgram, s.assumptionShow),
		on(post, programPrefix+"/assumptions", authz.EditBasis, s.assumptionSubmit),

		// people
		on(get, programPrefix+"/people", authz.ManagePeople, s.peopleList),
		on(post, programPrefix+"/people", authz.ManagePeople, s.peopleAdd),
		on(get, programPrefix+"/people/{user}", authz.ManagePeople, s.peopleShow),
		on(post, programPrefix+"/people/{user}", authz.ManagePeople, s.peopleSubmit),

		// program
		on(get, programPrefix+"/program", authz.SeeProgram, s.programShow),
		on(get, programPrefix+"/program/edit", authz.EditProgram, s.programEdit),
		on(post, programPrefix+"/program/edit", authz.EditProgram, s.programSubmit),
		on(post, programPrefix+"/program/mockup", authz.AcceptMockup, s.programMockup),
		on(get, "/programs/new", authz.CreateProgram, s.programNew),
		on(post, "/programs/new", authz.CreateProgram, s.programCreate),

		// window
		on(get, programPrefix+"/windows", authz.SeeProgram, s.windowList),
		on(post, programPrefix+"/windows", authz.PlanWindow, s.windowPlan),
		on(get, programPrefix+"/windows/{window}", authz.SeeProgram, s.windowShow),
		on(post, programPrefix+"/windows/{window}", authz.PlanWindow, s.windowSubmit),

		// shift_setup
		on(get, programPrefix+"/windows/{window}/night", authz.SeeProgram, s.nightShow),
		on(post, programPrefix+"/windows/{window}/night", authz.PlanShift, s.nightSubmit),
		on(get, programPrefix+"/planning", authz.SeeProgram, s.setupShow),
		on(post, programPrefix+"/planning", authz.PlanShift, s.setupSubmit),

		// forecast
		on(get, programPrefix+"/forecast", authz.SeeProgram, s.forecastShow),
		on(post, programPrefix+"/forecast", authz.ForecastSample, s.forecastLeaveOut),

		// vehicle
		on(get, programPrefix+"/vehicles", authz.SeeProgram, s.vehicleList),
		on(post, programPrefix+"/vehicles", authz.EditBasis, s.vehicleCreate),
		on(get, programPrefix+"/vehicles/new", authz.EditBasis, s.vehicleNew),
		on(get, programPrefix+"/vehicles/{vehicle}", authz.SeeProgram, s.vehicleShow),
		on(post, programPrefix+"/vehicles/{vehicle}", authz.EditBasis, s.vehicleSubmit),

		// loads
		on(get, programPrefix+"/spans", authz.SeeProgram, s.spanList),
		on(get, programPrefix+"/spans/{span}/loads", authz.SeeProgram, s.spanShow),
		on(get, programPrefix+"/spans/{span}/edit", authz.EditEnd, s.spanEdit),
		on(post, programPrefix+"/spans/{span}/edit", authz.EditEnd, s.spanSubmit),
		on(get, programPrefix+"/spans/{span}/parts/{part}", authz.EditEnd, s.partEdit),
		on(post, programPrefix+"/spans/{span}/parts/{part}", authz.EditEnd, s.partSubmit),

		// end_demand
		on(get, programPrefix+"/ends/{end}/demand", authz.SeeProgram, s.demandShow),
		on(post, programPrefix+"/ends/{end}/demand", authz.EditEnd, s.demandSubmit),

		// photo
		on(get, programPrefix+"/ends/{end}/photos", authz.SeeProgram, s.photoAlbum),
		on(get, programPrefix+"/ends/{end}/photos/{sha}", authz.SeeProgram, s.photoShow),
		on(get, programPrefix+"/ends/{end}/photos/{sha}/thumb", authz.SeeProgram, s.photoThumb),
		on(get, programPrefix+"/ends/{end}/photos/{sha}/original", authz.SeeProgram, s.photoOriginal),
		on(get, programPrefix+"/ends/{end}/photos/{sha}/sheet", authz.SeeProgram, s.photoSheet),
		on(post, programPrefix+"/ends/{end}/photos/{sha}/sheet", authz.CompleteStep, s.photoPin),
		on(post, programPrefix+"/ends/{end}/photos", authz.CompleteStep, s.photoAdd).upTo(photoLimit),

		// mockup
		on(get, programPrefix+"/mockups", authz.SeeProgram, s.mockupList),
		on(post, programPrefix+"/mockups", authz.RecordMockup, s.mockupRecord),
		on(get, programPrefix+"/mockups/new", authz.RecordMockup, s.mockupNew),
		on(post, programPrefix+"/mockups/roles", authz.EditProgram, s.mockupRolesSet),
		on(get, programPrefix+"/mockups/{mockup}", authz.SeeProgram, s.mockupShow),
		on(post, programPrefix+"/mockups/{mockup}", authz.RecordMockup, s.mockupSubmit),
		on(post, programPrefix+"/mockups/{mockup}/decide", authz.DecideMockup, s.mockupDecide),

		// pour
		on(get, programPrefix+"/pours", authz.SeeProgram, s.pourList),
		on(get, programPrefix+"/pours/quantities", authz.SeeProgram, s.quantityShow),
		on(get, programPrefix+"/pours/quantities/sheet", authz.SeeProgram, s.quantitySheet),
		on(get, programPrefix+"/pours/limits", authz.SeeProgram, s.castingLimitsShow),
		on(post, programPrefix+"/pours/limits", authz.EditPlan, s.castingPlanSubmit),
		on(get, programPrefix+"/pours/open", authz.RecordPour, s.pourOpenForm),
		on(post, programPrefix+"/pours/open", authz.RecordPour, s.pourOpen),
		on(get, programPrefix+"/pours/{number}/live", authz.RecordPour, s.pourLive),
		on(post, programPrefix+"/pours/{number}/live", authz.RecordPour, s.pourLiveSubmit),
		on(post, programPrefix+"/pours/{number}/live/preview", authz.RecordPour, s.pourLivePreview),
		on(get, programPrefix+"/pours/{number}/batches/{batch}", authz.SeeProgram, s.batchShow),
		on(post, programPrefix+"/pours/{number}/batches/{batch}", authz.RecordPour, s.batchSubmit),
		on(post, programPrefix+"/pours/{number}/batches/{batch}/decide", authz.DecideBatch, s.batchDecide),
		on(get, programPrefix+"/pours/new", authz.RecordPour, s.pourNew),
		on(post, programPrefix+"/pours", authz.RecordPour, s.pourCreate),
		on(post, programPrefix+"/pours/preview", authz.RecordPour, s.pourPreview),
		on(get, programPrefix+"/pours/{number}", authz.SeeProgram, s.pourShow),
		on(get, programPrefix+"/pours/{number}/card", authz.SeeProgram, s.pourCard),
		on(get, programPrefix+"/pours/{number}/curing", authz.SeeProgram, s.curingShow),
		on(post, programPrefix+"/pours/{number}/curing/file", authz.RecordCuring, s.curingUpload).upTo(loggerBody),
		on(get, programPrefix+"/pours/{number}/curing/file/{draft}", authz.RecordCuring, s.curingFile),
		on(post, programPrefix+"/pours/{number}/curing/file/{draft}", authz.RecordCuring, s.curingFileRecord),
		on(post, programPrefix+"/pours/{number}/curing/hand", authz.RecordCuring, s.curingHand),
		on(post, programPrefix+"/pours/{number}/curing/withdraw", authz.RecordCuring, s.curingWithdraw),
		on(post, programPrefix+"/pours/{number}/curing/end", authz.RecordCuring, s.curingEnd),
		on(get, programPrefix+"/pours/{number}/curing/log/{log}", authz.SeeProgram, s.curingLogFile),

		// strength_curve
		on(get, programPrefix+"/strength-curve", authz.SeeProgram, s.strengthCurve),

		// laboratory, break
		on(get, programPrefix+"/laboratory", authz.SeeProgram, s.laboratoryShow),
		on(get, programPrefix+"/laboratory/week", authz.SeeProgram, s.laboratoryWeek),
		on(get, programPrefix+"/laboratory/labels", authz.SeeProgram, s.specimenLabels),
		on(get, programPrefix+"/laboratory/specimens/{specimen}", authz.SeeProgram, s.specimenShow),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/break", authz.RecordBreak, s.specimenAct("break")),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/correct", authz.RecordBreak, s.specimenAct("correct")),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/demold", authz.KeepSpecimens, s.specimenAct("demold")),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/lose", authz.KeepSpecimens, s.specimenAct("lose")),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/exclude", authz.ReviewSpecimens, s.specimenAct("exclude")),
		on(post, programPrefix+"/laboratory/specimens/{specimen}/return", authz.ReviewSpecimens, s.specimenAct("return")),
		on(get, programPrefix+"/laboratory/pours/{number}", authz.SeeProgram, s.strengthReport),
		on(get, programPrefix+"/laboratory/pours/{number}/paper.css", authz.SeeProgram, s.strengthPaper),
		on(post, programPrefix+"/laboratory/pours/{number}/review", authz.ReviewSpecimens, s.setReview),
		on(get, programPrefix+"/strength", authz.SeeProgram, s.strengthShow),
		on(post, programPrefix+"/laboratory/breaks", authz.RecordBreak, s.breakRecord),
		on(post, programPrefix+"/laboratory/table", authz.RecordBreak, s.breakTable),
		on(post, programPrefix+"/laboratory/table/record", authz.RecordBreak, s.breakTableRecord),

		// field
		on(get, programPrefix+"/field", authz.CompleteStep, s.fieldStart),
		on(get, programPrefix+"/ends/{end}/field", authz.CompleteStep, s.fieldEnd),

		// tablet
		on(get, "/tablet-worker.js", authz.Public, s.tabletWorker),
		on(get, programPrefix+"/tablet", authz.CompleteStep, s.tabletShell),
		on(get, programPrefix+"/tablet/manifest", authz.CompleteStep, s.tabletManifest),
		on(get, programPrefix+"/tablet/who", authz.CompleteStep, s.tabletWho),
		on(get, programPrefix+"/tablet/choice", authz.CompleteStep, s.tabletChoice),
		on(get, programPrefix+"/tablet/packet", authz.CompleteStep, s.tabletPacket),
		on(post, programPrefix+"/tablet/entries", authz.CompleteStep, s.tabletEntries).upTo(entriesLimit),
		on(post, programPrefix+"/tablet/pieces", authz.CompleteStep, s.tabletPiece).upTo(pieceLimit),
		on(post, programPrefix+"/tablet/photos", authz.CompleteStep, s.tabletPhoto),
		on(get, programPrefix+"/aside", authz.SeeProgram, s.asideShow),
		on(post, programPrefix+"/aside", authz.DecideNonconformance, s.asideDecide),
		on(get, programPrefix+"/stud-quality", authz.SeeProgram, s.studQuality),
		on(get, programPrefix+"/labels", authz.SeeProgram, s.tabletLabels),
		on(get, programPrefix+"/tablet/at/{end}", authz.SeeProgram, s.tabletAt),

		// document
		on(get, programPrefix+"/documents", authz.SeeProgram, s.documentList),
		on(post, programPrefix+"/documents", authz.MakeDocument, s.documentMake),
		on(post, programPrefix+"/documents/print", authz.Export, s.documentPrint),
		on(get, programPrefix+"/documents/key", authz.SeeProgram, s.documentKey),
		on(get, programPrefix+"/documents/{document}", authz.SeeProgram, s.documentShow),
		on(get, programPrefix+"/documents/{document}/file", authz.SeeProgram, s.documentFile),
		on(get, programPrefix+"/documents/{document}/all.zip", authz.SeeProgram, s.documentAll),
		on(post, signPattern, authz.SignDocument, s.documentSign),
		on(get, programPrefix+"/ends/{end}/documents", authz.SeeProgram, s.documentEnd),
		on(post, programPrefix+"/ends/{end}/documents", authz.MakeDocument, s.documentMakeEnd),
		on(post, programPrefix+"/ends/{end}/documents/print", authz.Export, s.documentPrintEnd),

		// cleaning
		on(get, programPrefix+"/ends/{end}/cleaning", authz.SeeProgram, s.cleaningShow),
		on(post, programPrefix+"/ends/{end}/cleaning", authz.RecordCleaning, s.cleaningRecord).upTo(photoLimit),

		// collar
		on(get, programPrefix+"/ends/{end}/collars", authz.SeeProgram, s.collarMap),
		on(get, programPrefix+"/ends/{end}/collars/{mark}", authz.SeeProgram, s.collarShow),
		on(post, programPrefix+"/ends/{end}/collars/{mark}", authz.RecordCollar, s.collarRecord).upTo(photoLimit),
		on(get, programPrefix+"/ends/{end}/collar-rest", authz.RecordCollar, s.collarRestShow),
		on(post, programPrefix+"/ends/{end}/collar-rest", authz.RecordCollar, s.collarRestRecord),

		// shift_check
		on(get, programPrefix+"/ends/{end}/checks/{check}", authz.SeeProgram, s.shiftCheckShow),
		on(post, programPrefix+"/ends/{end}/checks/{check}", authz.CompleteStep, s.shiftCheckRecord).upTo(photoLimit),

		// inspection
		on(get, programPrefix+"/ends/{end}/inspections/new", authz.CompleteStep, s.inspectionNew),
		on(post, programPrefix+"/ends/{end}/inspections", authz.CompleteStep, s.inspectionRecord).upTo(photoLimit),

		// strain
		on(get, programPrefix+"/ends/{end}/strain", authz.SeeProgram, s.strainShow),
		on(post, programPrefix+"/ends/{end}/strain/sensors", authz.RecordStrain, s.strainSensorSave),
		on(post, programPrefix+"/ends/{end}/strain/sensors/remove", authz.RecordStrain, s.strainSensorRemove),
		on(get, programPrefix+"/ends/{end}/strain/recordings", authz.SeeProgram, s.strainRecordings),
		on(post, programPrefix+"/ends/{end}/strain/recordings/file", authz.RecordStrain, s.strainUpload).upTo(strainBody),
		on(get, programPrefix+"/ends/{end}/strain/recordings/file/{draft}", authz.RecordStrain, s.strainFile),
		on(post, programPrefix+"/ends/{end}/strain/recordings/file/{draft}", authz.RecordStrain, s.strainFileRead),
		on(get, programPrefix+"/ends/{end}/strain/recordings/job/{job}", authz.SeeProgram, s.strainJob),
		on(post, programPrefix+"/ends/{end}/strain/recordings/job/{job}", authz.RecordStrain, s.strainCancel),
		on(post, programPrefix+"/ends/{end}/strain/recordings/withdraw", authz.RecordStrain, s.strainWithdraw),
		on(get, programPrefix+"/ends/{end}/strain/recordings/{recording}", authz.SeeProgram, s.strainRecording),
		on(get, programPrefix+"/ends/{end}/strain/recordings/{recording}/file", authz.SeeProgram, s.strainRaw),
		on(get, programPrefix+"/ends/{end}/strain/trace", authz.SeeProgram, s.strainTrace),
		on(get, programPrefix+"/ends/{end}/strain/events", authz.SeeProgram, s.strainEvents),
		on(get, programPrefix+"/ends/{end}/strain/verdict", authz.SeeProgram, s.strainVerdict),
		on(post, programPrefix+"/ends/{end}/strain/verdict", authz.ConfirmVerdict, s.strainConfirm),
		on(post, programPrefix+"/ends/{end}/strain/setup", authz.ConfirmVerdict, s.strainSetup),

		// gate
		on(get, programPrefix+"/ends/{end}/gates/{gate}", authz.SeeProgram, s.gateShow),
		on(post, programPrefix+"/ends/{end}/gates/{gate}", authz.DecideStrip, s.gateDecide),

		// release
		on(get, programPrefix+"/ends/{end}/release", authz.SeeProgram, s.releaseShow),
		on(post, programPrefix+"/ends/{end}/release", authz.CompleteStep, s.releaseSubmit),

		// nonconformance
		on(get, programPrefix+"/nonconformances", authz.SeeProgram, s.nonconformanceList),
		on(get, programPrefix+"/nonconformances/{number}", authz.SeeProgram, s.nonconformanceShow),
		on(post, programPrefix+"/nonconformances/{number}/decide", authz.DecideNonconformance, s.nonconformanceDecide),
		on(post, programPrefix+"/nonconformances/{number}/close", authz.RaiseNonconformance, s.nonconformanceClose),
		on(get, programPrefix+"/ends/{end}/nonconformances/new", authz.RaiseNonconformance, s.nonconformanceNew),
		on(post, programPrefix+"/ends/{end}/nonconformances", authz.RaiseNonconformance, s.nonconformanceRaise),
	}...)
}

// build mounts the table behind the middleware.
func (s *Server) build() error {
	r := chi.NewRouter()
	r.Use(middleware.GetHead, s.identify, s.clientAddress(), s.logRequest, s.recoverPanic, s.securityHeaders)
	r.Handle(static.Prefix+"*", static.Handler())
	r.Get("/healthz", s.health)

	cross, err := s.crossOrigin(s.base)
	if err != nil {
		return err
	}
	r.Group(func(r chi.Router) {
		// Programs ask with a token: no cookie is read, so no other site can ask for them.
		r.Use(middleware.Compress(5, "application/json"), s.loadToken, s.limitTokens())
		for _, rt := range s.routes {
			if isAPI(rt.pattern) {
				r.Method(rt.method, rt.pattern, s.gate(rt))
			}
		}
	})
	r.Group(func(r chi.Router) {
		r.Use(cross, middleware.Compress(5, "text/html", "application/json", "image/svg+xml", "text/csv"), s.sessions.LoadAndSave, s.loadPerson)
		for _, rt := range s.routes {
			if isAPI(rt.pattern) {
				continue
			}
			h := s.gate(rt)
			if rt.method == post && rt.pattern == "/login" || rt.pattern == signOnBack {
				h = s.limitLogins()(h)
			}
			if rt.pattern == signPattern {
				h = s.limitSigning()(h)
			}
			r.Method(rt.method, rt.pattern, h)
		}
		// An unknown address still runs through the session, so that its page has the
		// frame of whoever asks.
		r.NotFound(s.answer(func(http.ResponseWriter, *http.Request) error {
			return fault.New(fault.NotFound, "there is no page at this address")
		}))
		r.MethodNotAllowed(s.answer(func(http.ResponseWriter, *http.Request) error {
			return fault.New(fault.Method, "this address does not take such a request")
		}))
	})
	s.router, s.handler = r, r
	return nil
}

// answer adapts a handler that returns an error.
func (s *Server) answer(h handlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.fail(w, r, err)
		}
	}
}

// health says whether the database answers. It tells nothing else to a stranger.
func (s *Server) health(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if err := s.cfg.Pool.Ping(r.Context()); err != nil {
		s.log.ErrorContext(r.Context(), "health check", "error", err)
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte("database does not answer\n"))
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}
