//! The words of the command line and their help, and nothing else.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use super::console::Cable;
use super::gauge::SerialSettings;
use super::output::Output;
use crate::quantity::Unit;

const STATUS: &str = "\
Exit status:
  0  accepted, or all well
  1  judged and not accepted, undecided or unfinished
  2  the command was not typed as it must be
  3  the procedure file has faults
  4  a file could not be read or written
  5  the record is damaged, or a signature is not good

Readings and limits are yours to confirm: limits in a procedure are examples until its author has agreed them with
the customer. Local codes, the maker's instructions and licensed practice come first wherever work can hurt someone.";

/// Prove that a machine tool is right: a procedure, walked at the bench, judged, signed.
#[derive(Debug, Parser)]
#[command(name = "bedway", version, after_help = STATUS, arg_required_else_help = true, max_term_width = 100)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Look for faults in procedure files and work out their examples
    Check(Check),
    /// Set the lines of procedure files in order; what they say stays the same
    Tidy(Tidy),
    /// Say what a fault means and how to mend it
    Explain(Explain),
    /// Show the whole walk of a procedure, answered from a worked example
    ///
    /// Nothing is measured: the record, the report and `verify` all say that it is a rehearsal. What it writes lies in
    /// the folder `rehearsal`.
    Rehearse(Rehearse),
    /// Walk a procedure at the machine and write its record
    ///
    /// Each answer is on the disk before the next question. Ctrl-C, Ctrl-D or the word `pause` leave the walk; it goes on
    /// with --resume exactly where it stopped, also after a power cut.
    Walk(Walk),
    /// Print a blank form of a procedure, to be filled in by hand
    ///
    /// First what to bring, in which order the set-ups follow each other and how long it takes; then each step with its
    /// set-up, cautions, limits and boxes. What is read on it is typed in with `bedway enter`.
    Sheet(Sheet),
    /// Type in what was read on a printed sheet
    ///
    /// The same walk, step by step in the order of the sheet, with the same checks and verdicts. When each step was
    /// read, and by whom, is asked once and stands on the record; rows of a series and waits take the times written on
    /// the sheet. `pause` leaves it; naming the record goes on.
    Enter(Enter),
    /// Put a name under a finished record
    ///
    /// Without --key your own key in the folder bedway/keys of your configuration folder ($XDG_CONFIG_HOME, else
    /// ~/.config) is used, and made there if there is none. Its passphrase is asked for, or taken from
    /// BEDWAY_PASSPHRASE; where there is no terminal it is the next line of the input.
    Sign(Sign),
    /// Add to a signed record what became known later, with a signature of its own
    ///
    /// Nothing that was signed is changed. Keys are found as for `sign`.
    Amend(Amend),
    /// Prove that a record is whole, rightly judged and signed
    Verify(Verify),
    /// Print the report of a record
    Report(Report),
    /// Say what another revision of the procedure would make of the entries of a record
    ///
    /// It is never the signed verdict, and the record is only read. Entries are matched by the names of step, reading
    /// and station; units are converted exactly. A reading whose words for plus and minus have changed places is turned
    /// round, one whose words are others is left out; what is missing on either side is listed.
    Judge(Judge),
    /// Say what has changed from one record of a machine to a later one
    ///
    /// As the earlier walk left it is held against as the later one found it. Units, senses and lengths are brought
    /// together first; a change is said only where it is larger than the uncertainty of both figures. Under two revisions
    /// the earlier entries are judged again under the later one, and marked as such. Both records are only read.
    Compare(Compare),
    /// Show a machine over years, from its records
    ///
    /// Each value as found and as left, visit by visit, against its limit; breaks where the procedure or an instrument
    /// changed; how fast it drifts, with its uncertainty. Rehearsals, damaged and unsigned records are named and left out.
    Trend(Trend),
    /// Print a walk as a worked example, in the words of its procedure
    ///
    /// Its readings, corrections, tries and decisions in their order, and what came of them. Put behind the procedure, it
    /// is worked out by `check` like any other. Whatever an example cannot say is named.
    Example(Example),
}

#[derive(Debug, Args)]
pub struct Check {
    /// Procedure files
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print the faults as JSON, for editors and build servers: a line a file, in the order given
    ///
    /// {"file", "problems": [{"code", "severity" (fault or warning), "message", "line", "column", "end_line",
    /// "end_column", "help"?, "labels": [{"line", "column", "text"}]}]}; lines and columns count from 1, keys may be
    /// added. A file that cannot be read has no line and is told of on standard error.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct Tidy {
    /// Procedure files
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Only say which are not tidy; exit status 1 if one is not
    #[arg(long)]
    pub check: bool,
}

#[derive(Debug, Args)]
pub struct Explain {
    /// What stands before the message of a fault, such as unit::missing; without it all are listed
    #[arg(value_name = "CODE")]
    pub code: Option<String>,
}

#[derive(Debug, Args)]
pub struct Walk {
    /// The procedure to walk
    #[arg(value_name = "FILE", required_unless_present = "resume", conflicts_with = "resume")]
    pub file: Option<PathBuf>,
    /// Where to write the record; without it NAME-DATE.record.jsonl in this folder. Nothing is ever overwritten
    #[arg(long, value_name = "PATH", conflicts_with = "resume")]
    pub record: Option<PathBuf>,
    /// Take the answers from a file, one a line; lines that begin with `# ` are passed over, and a refused one ends it
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    /// Go on with a walk that was left, under the procedure frozen in its record
    #[arg(long, value_name = "RECORD")]
    pub resume: Option<PathBuf>,
    /// Take readings from a gauge as well: a serial device or a named pipe that sends a line a press
    ///
    /// One number a line; a sign, blanks around it, a unit behind it, a channel before it (01A+00012.345, X: -0,004 mm)
    /// and a power of ten are understood. A press answers a question for a reading and nothing else; whatever is not
    /// surely one number is refused. The keyboard works beside it.
    #[arg(long, value_name = "PATH", requires = "from_unit", conflicts_with = "answers")]
    pub from: Option<PathBuf>,
    /// The unit of the gauge's numbers where it sends none, such as mm
    #[arg(long, value_name = "UNIT", requires = "from", value_parser = unit)]
    pub from_unit: Option<Unit>,
    /// How its serial line is set: baud rate, bits, parity, stop bits
    #[arg(long, value_name = "SETTING", requires = "from", default_value = "9600 8N1")]
    pub serial: SerialSettings,
    /// At the end write the walk as a worked example into this new file, to be put behind the procedure
    #[arg(long, value_name = "PATH")]
    pub as_example: Option<PathBuf>,
    /// Ring when the next reading of a series is due or a wait is over
    #[arg(long)]
    pub bell: bool,
    #[command(flatten)]
    pub bring: Bring,
}

impl Walk {
    pub fn cable(&self) -> Option<Cable> {
        self.from.clone().map(|path| Cable { path, serial: self.serial })
    }
}

fn unit(typed: &str) -> Result<Unit, String> {
    let known = || Unit::ALL.iter().map(|unit| unit.symbol()).collect::<Vec<_>>().join(" ");
    Unit::parse(typed.trim()).ok_or_else(|| format!("type one of: {}", known()))
}

#[derive(Debug, Args)]
pub struct Trend {
    /// Records, or folders in which to look for them (names that end in .record.jsonl)
    #[arg(required = true, value_name = "RECORD")]
    pub records: Vec<PathBuf>,
    /// Which machine; without it several are listed
    #[arg(long, value_name = "NUMBER")]
    pub serial: Option<String>,
    /// The fact of the procedures that names the machine
    #[arg(long, value_name = "FACT", default_value = "serial")]
    pub by: String,
    /// Take in records that nobody signed, marked as such
    #[arg(long)]
    pub unsigned: bool,
    /// Write a page with charts instead of text
    #[arg(long, value_name = "OUT")]
    pub html: Option<PathBuf>,
    /// Write a table, a value a row
    #[arg(long, value_name = "OUT")]
    pub csv: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Sheet {
    /// The procedure to print
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// What is known of the machine: NAME=VALUE, as at the prompt. Stations, limits and conditions follow from it
    #[arg(long = "fact", value_name = "NAME=VALUE")]
    pub facts: Vec<String>,
    /// Only this step, for a further try; may be given again for others
    #[arg(long = "step", value_name = "STEP")]
    pub steps: Vec<String>,
    /// Write a page for a browser, to be printed on A4 or Letter, instead of text
    #[arg(long, value_name = "OUT")]
    pub html: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Enter {
    /// The procedure of the sheet; or a record, to go on with it
    #[arg(value_name = "FILE or RECORD")]
    pub file: PathBuf,
    /// Where to write the record; without it NAME-DATE.record.jsonl in this folder. Nothing is ever overwritten
    #[arg(long, value_name = "PATH")]
    pub record: Option<PathBuf>,
    /// Take the answers from a file, one a line; lines that begin with `# ` are passed over, and a refused one ends it
    #[arg(long, value_name = "FILE")]
    pub answers: Option<PathBuf>,
    #[command(flatten)]
    pub bring: Bring,
}

/// What is brought along from elsewhere.
#[derive(Debug, Default, Args)]
pub struct Bring {
    /// The shop's instruments: a file that begins with `kit "title"`, from which they are offered
    #[arg(long, value_name = "KIT")]
    pub kit: Option<PathBuf>,
    /// The record of the last time: its facts and instruments need no retyping, its values are shown behind each entry
    #[arg(long, value_name = "RECORD")]
    pub previous: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Rehearse {
    /// The procedure to rehearse
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The worked example that answers, by its title or the beginning of it; without it the one that walks the most
    #[arg(long, value_name = "TITLE", allow_hyphen_values = true)]
    pub example: Option<String>,
    /// Where the example is silent, readings are made up from this number
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole_number)]
    pub seed: u64,
    #[command(flatten)]
    pub bring: Bring,
}

fn whole_number(typed: &str) -> Result<u64, String> {
    typed.parse().map_err(|_| "type a whole number, such as 7".to_owned())
}

#[derive(Debug, Args)]
pub struct Example {
    /// The record of the walk
    #[arg(value_name = "RECORD")]
    pub record: PathBuf,
    /// The title of the example; without it the day of the walk
    #[arg(long, value_name = "TITLE")]
    pub title: Option<String>,
}

#[derive(Debug, Args)]
pub struct Sign {
    /// The record to sign
    #[arg(value_name = "RECORD")]
    pub record: PathBuf,
    /// Who signs: "NAME, ROLE", the role being operator or a party of the procedure
    #[arg(long = "as", value_name = "NAME, ROLE")]
    pub signer: String,
    /// An OpenSSH private key (Ed25519, ECDSA or RSA)
    #[arg(long, value_name = "PATH")]
    pub key: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Amend {
    /// The signed record
    #[arg(value_name = "RECORD")]
    pub record: PathBuf,
    /// What is added, in words
    #[arg(value_name = "TEXT")]
    pub text: String,
    /// Who amends and signs: "NAME, ROLE", the role being operator or a party of the procedure
    #[arg(long = "as", value_name = "NAME, ROLE")]
    pub signer: String,
    /// An OpenSSH private key (Ed25519, ECDSA or RSA)
    #[arg(long, value_name = "PATH")]
    pub key: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Verify {
    /// The record to judge
    #[arg(value_name = "RECORD")]
    pub record: PathBuf,
    /// Whose keys are whose: an OpenSSH allowed-signers file
    #[arg(long, value_name = "FILE")]
    pub signers: Option<PathBuf>,
    /// The SHA-256 that the record is said to end with; finds one that was cut back
    #[arg(long, value_name = "DIGEST")]
    pub ends: Option<String>,
    /// The record before, whose values were lent to this one
    #[arg(long, value_name = "RECORD")]
    pub previous: Option<PathBuf>,
    /// Take a rehearsal for what it is instead of refusing it
    #[arg(long)]
    pub rehearsal: bool,
}

#[derive(Debug, Args)]
pub struct Report {
    /// The record to report on
    #[arg(value_name = "RECORD", required_unless_present = "json_schema")]
    pub record: Option<PathBuf>,
    /// Show what each uncertainty is made of (--json always does)
    #[arg(long)]
    pub budgets: bool,
    #[command(flatten)]
    pub output: Output,
    /// Write one page of HTML to this file, with drawings, for the screen and for paper
    #[arg(long, value_name = "FILE", conflicts_with_all = ["form", "out"])]
    pub html: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Judge {
    /// The record whose entries are judged
    #[arg(value_name = "RECORD", required_unless_present = "json_schema")]
    pub record: Option<PathBuf>,
    /// The procedure to judge them under
    #[arg(long, value_name = "FILE", required_unless_present = "json_schema")]
    pub under: Option<PathBuf>,
    #[command(flatten)]
    pub output: Output,
    /// Write one page of HTML to this file, for the screen and for paper
    #[arg(long, value_name = "FILE", conflicts_with_all = ["form", "out"])]
    pub html: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct Compare {
    /// The earlier record
    #[arg(value_name = "OLD", required_unless_present = "json_schema")]
    pub old: Option<PathBuf>,
    /// The later record
    #[arg(value_name = "NEW", required_unless_present = "json_schema")]
    pub new: Option<PathBuf>,
    #[command(flatten)]
    pub output: Output,
    /// Write one page of HTML to this file, for the screen and for paper
    #[arg(long, value_name = "FILE", conflicts_with_all = ["form", "out"])]
    pub html: Option<PathBuf>,
}
