//! Everything that can happen to the model, nested per station. What is saved, sent to the link or
//! seen by two stations changes only through these.

use std::path::PathBuf;

use crate::bands::{DraggedEdges, LearnedOn};
use crate::circuit::{Circuit, Jack, OutputParts, Parts, SupplyParts};
use crate::files::Preferences;
use crate::learn::Command as SessionCommand;
use crate::link::{DemoTouch, Report};
use crate::project::{ButtonId, Command, CommandId, Gesture, ReturnWire, Sweep, TwoMetered};
use crate::signal::Converter;
use crate::wheel::MeterCheck;
use crate::work::News;

use super::Station;
use super::notice::Topic;

/// One thing that happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// Go to a station.
    Go(Station),
    /// Files and vehicles.
    File(FileAction),
    /// A change of the project.
    Edit(Edit),
    /// One step back.
    Undo,
    /// One step forward.
    Redo,
    /// The link.
    Link(LinkAction),
    /// The Wheel station.
    Wheel(super::wheel::WheelAction),
    /// The Circuit station.
    Circuit(super::circuit::CircuitAction),
    /// The Learn station.
    Learn(LearnAction),
    /// The Codes station.
    Codes(CodesAction),
    /// The Box station.
    Box(super::the_box::BoxAction),
    /// A long computation has come so far, or to its end.
    Computed(News),
    /// A notice was answered: it goes, and what it offered is done.
    Answer(Topic),
    /// A notice was put away.
    Dismiss(Topic),
    /// Show the cautions, or put them away.
    ShowCautions(bool),
    /// The person has read the cautions.
    CautionsRead,
    /// Show the sheet of keys, or put it away.
    ShowKeys(bool),
    /// The window is minimised or wholly covered: nobody sees it. Or it is seen again.
    Hidden(bool),
    /// Change between dark and light.
    SwitchTheme,
    /// Time has passed; comes at least once a second while the window is open.
    Tick(Now),
    /// The window wants to close.
    Close(CloseAction),
}

/// What the clocks say. The model has none of its own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Now {
    /// Milliseconds since the program started; never runs backwards.
    pub ms: f64,
    /// The wall clock, as `21:14`.
    pub clock: String,
    /// The day, as `2008-05-17`.
    pub date: String,
}

/// Files and vehicles.
#[derive(Clone, Debug, PartialEq)]
pub enum FileAction {
    /// Begin a vehicle.
    New,
    /// Begin the demo van, already streaming.
    Demo,
    /// Ask which file to open.
    AskOpen,
    /// Open this file.
    Open(PathBuf),
    /// The file's text is here.
    Loaded {
        /// Which file.
        path: PathBuf,
        /// Its text, or what went wrong and what to do.
        text: Result<String, String>,
        /// Whether another window has it.
        elsewhere: bool,
    },
    /// Save; asks where if it isn't known.
    Save,
    /// Ask where to save.
    AskSave,
    /// Save here.
    SaveTo(PathBuf),
    /// The file is written, or isn't.
    Saved {
        /// Which file.
        path: PathBuf,
        /// The project as written.
        project: Box<crate::project::Project>,
        /// What went wrong and what to do.
        result: Result<(), String>,
    },
    /// A text beside the project was written, or wasn't.
    Written {
        /// Where.
        path: PathBuf,
        /// What went wrong and what to do.
        result: Result<(), String>,
    },
    /// No system dialog can be shown: a path is typed instead.
    AskPath(PathPurpose),
    /// The dialog was put away.
    AskPathDone,
    /// Unsaved work from before was found.
    Found {
        /// Where its original is, if it has one.
        original: Option<PathBuf>,
        /// Its text.
        text: String,
        /// When it was kept, as a person writes it.
        when: String,
    },
    /// Open what was found.
    Recover,
    /// Throw away what was found.
    ForgetFound,
    /// Start writing the recording to a file; asks where.
    AskTape,
    /// Write the recording here.
    TapeTo(PathBuf),
    /// Stop writing.
    TapeStop,
    /// The recording's file could not be written: what and why.
    TapeFailed(String),
    /// Ask for a recorded file to replay.
    AskReplay,
    /// The files opened before, newest first.
    Recent(Vec<PathBuf>),
    /// The preferences as they were kept.
    Preferences(Box<Preferences>),
}

/// What a typed path is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathPurpose {
    /// A project to open.
    Open,
    /// Where to save the project.
    Save,
    /// Where to write the recording.
    Tape,
    /// A recorded file to replay.
    Replay,
    /// Where to write the C header.
    Header,
    /// A list of commands to take in.
    ImportCodes,
    /// Where to write a list of the commands.
    ExportCodes,
}

/// A change of the project; each can be undone.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// The vehicle's name.
    Vehicle(String),
    /// Anything worth keeping of the vehicle.
    VehicleNote(String),
    /// The stereo's name.
    Stereo(String),
    /// A new button at the end, with this name.
    AddButton(String),
    /// Another name.
    RenameButton(ButtonId, String),
    /// Remove a button with all that was learned and paired of it.
    RemoveButton(ButtonId),
    /// Move a button to this place in the order.
    MoveButton(ButtonId, usize),
    /// Which wire a button is on, 1 or 2.
    ButtonWire(ButtonId, u8),
    /// The meter's reading, in ohms.
    Meter(ButtonId, Option<f64>),
    /// The sense circuit.
    Circuit(Option<Circuit>),
    /// How the ladder is joined.
    Topology(crate::wheel::Topology),
    /// Resistance across a wire at rest, in ohms.
    RestOhm(u8, Option<f64>),
    /// How many presses of each button are asked for.
    Presses(u32),
    /// What the converter runs to.
    Converter(Converter),
    /// How long a button's band must hold, in milliseconds.
    Dwell(u8),
    /// How far the readings of a dwell may spread, in counts; `None` takes it from the noise.
    SettleLimit(Option<f64>),
    /// From recognition to a hold, in milliseconds.
    Hold(u16),
    /// Between the two taps of a double tap, in milliseconds.
    DoubleTap(u16),
    /// Whether a press may roll over to the next button without rest in between.
    Rollover(bool),
    /// Whether the box drives an infrared LED, too.
    Infrared(bool),
    /// Whether a diode or the board's regulator input parts the vehicle's supply from USB.
    SuppliesParted(bool),
    /// Forget what was learned of a button.
    Forget(ButtonId),
    /// Forget the last press of a button.
    ForgetLast(ButtonId),
    /// A new command at the end, with this name and code.
    AddCommand(Box<Command>),
    /// A command in another form.
    ChangeCommand(Box<Command>),
    /// New commands at the end, in one step.
    AddCommands(Vec<Command>),
    /// What a meter found at the stereo's wired remote input.
    Jack(Jack),
    /// The sweep, as far as it has come.
    Sweep(Option<Sweep>),
    /// Remove a command; what was paired with it goes nowhere.
    RemoveCommand(CommandId),
    /// Pair a gesture with a command, or with none yet.
    Pair(ButtonId, Gesture, Option<CommandId>),
    /// Whether the code repeats while the button is held.
    Repeats(ButtonId, Gesture, bool),
    /// While held, a press anew each so many milliseconds; `None` repeats as the code's family does.
    Every(ButtonId, Gesture, Option<u16>),
    /// Take a gesture away.
    Unpair(ButtonId, Gesture),
    /// Which parts one has and buys, and how far off they may be.
    Parts(Parts),
    /// What the box's output is built of.
    Output(OutputParts),
    /// What the box is fed through.
    Supply(SupplyParts),
    /// What the meter found.
    MeterCheck(Box<MeterCheck>),
    /// The ladder's return.
    Back(ReturnWire),
    /// A wire's colour, in the letters of IEC 60757.
    WireColour(u8, String),
    /// On which feed the wheel was learned; `None` where nobody measured it.
    LearnedOn(Option<LearnedOn>),
    /// Where a wire is tapped.
    TappedAt(u8, String),
    /// What two buttons of a wire read pressed at once.
    TwoMetered(u8, Option<TwoMetered>),
    /// The wheel has a second wire.
    AddWire,
    /// The wheel has no second wire; its buttons are on the first.
    RemoveWire,
    /// Edges of a button's band that a person moved; both `None` gives them back.
    Edges(ButtonId, DraggedEdges),
    /// A run of edits to one thing is over.
    Settle,
}

/// The link.
#[derive(Clone, Debug, PartialEq)]
pub enum LinkAction {
    /// Open the port at this path.
    Connect(String),
    /// Play a recorded file.
    Replay(PathBuf),
    /// Close the link.
    Disconnect,
    /// The worker said something.
    Report(Report),
    /// The beginning of the last broken line.
    BrokenSample(String),
    /// A hand on the demo's wheel.
    Touch(DemoTouch),
}

/// The Learn station.
#[derive(Clone, Debug, PartialEq)]
pub enum LearnAction {
    /// Prompted, click, bands or dwell.
    View(LearnView),
    /// Start the prompted session; with a button, only that one.
    Start(Option<ButtonId>),
    /// Something for the running session.
    Session(SessionCommand),
    /// Each button once more, held against its band.
    Recheck(super::learn::bands::RecheckAction),
    /// The choice of the dwell.
    Dwell(super::learn::dwell::DwellAction),
    /// Whether the demo's hand presses what is asked.
    Hand(bool),
    /// The button a stretch is for.
    Choose(ButtonId),
    /// A stretch was dragged on a wire's trace, in milliseconds of the recording.
    Drag {
        /// From 0.
        wire: usize,
        /// Where the drag began.
        from_ms: f64,
        /// Where it ended; may lie before `from_ms`.
        to_ms: f64,
    },
    /// Clicked on the trace: the settled stretch around this time.
    Pick {
        /// From 0.
        wire: usize,
        /// Where.
        at_ms: f64,
    },
    /// Take the stretch for the chosen button, or for another.
    Take(Option<ButtonId>),
    /// Forget the stretch.
    Clear,
    /// Show this part of the recording: its end and its length, in milliseconds.
    Look {
        /// The latest time shown; `None` follows the live reading.
        end_ms: Option<f64>,
        /// How much is shown.
        span_ms: f64,
    },
    /// Which wire the trace shows, from 0.
    Wire(usize),
}

/// The ways to learn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LearnView {
    /// The screen names the button.
    #[default]
    Prompted,
    /// The person drags over the trace.
    Click,
    /// What each band is made of, its edges to be moved.
    Bands,
    /// How long a button's band must hold.
    Dwell,
}

/// The Codes station.
#[derive(Clone, Debug, PartialEq)]
pub enum CodesAction {
    /// Jack, listen, type in or sweep.
    View(super::codes::CodesView),
    /// Listening to the remote.
    Listen(super::codes::listen::ListenAction),
    /// Trying one code after the other.
    Sweep(super::codes::sweep::SweepAction),
    /// Lists of commands.
    List(super::codes::list::ListAction),
    /// Choose a command of the list.
    Choose(CommandId),
    /// Begin a new command.
    New,
    /// Replace the draft by this.
    Draft(super::codes::Draft),
    /// Keep the draft as a command.
    Keep,
    /// Forget the draft.
    Discard,
}

/// The window wants to close.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CloseAction {
    /// It was asked to.
    Ask,
    /// Save first, then close.
    SaveFirst,
    /// Close without saving.
    Anyway,
    /// Stay.
    Stay,
}
