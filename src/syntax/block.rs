//! Which block takes a line with which first word, what grammar rule reads it, and what block it opens.
//!
//! A line belongs to the innermost open block that takes its first word; a line taken by an outer block closes the
//! blocks inside it. Here is the one list of all first words.

use super::grammar::Rule;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Block {
    File,
    Step,
    Method,
    Read,
    Observe,
    Let,
    Adjustment,
    Remedy,
    Table,
    Instrument,
    Gauge,
    Example,
}

/// How a line is read: its first word, the rule for what follows it, the block that it opens.
#[derive(Clone, Copy, Debug)]
pub(super) struct LineKind {
    pub word: &'static str,
    pub rule: Rule,
    pub opens: Option<Block>,
}

const fn line(word: &'static str, rule: Rule) -> LineKind {
    LineKind { word, rule, opens: None }
}

const fn opens(word: &'static str, rule: Rule, block: Block) -> LineKind {
    LineKind { word, rule, opens: Some(block) }
}

impl Block {
    /// Every line that the block takes.
    pub fn lines(self) -> &'static [LineKind] {
        match self {
            Block::File => FILE,
            Block::Step | Block::Method => STEP,
            Block::Read => READ,
            Block::Observe => OBSERVE,
            Block::Let => LET,
            Block::Adjustment => ADJUSTMENT,
            Block::Remedy => REMEDY,
            Block::Table => TABLE,
            Block::Instrument => INSTRUMENT,
            Block::Gauge => GAUGE,
            Block::Example => EXAMPLE,
        }
    }

    pub fn takes(self, word: &str) -> Option<LineKind> {
        self.lines().iter().copied().find(|line| line.word == word)
    }

    /// As said in "stands under ...".
    pub fn said(self) -> &'static str {
        match self {
            Block::File => "at the top of the file",
            Block::Step => "in a `step`",
            Block::Method => "in a `method`",
            Block::Read => "under a `read`",
            Block::Observe => "under an `observe`",
            Block::Let => "under a `let`",
            Block::Adjustment => "under an `adjustment`",
            Block::Remedy => "under a `remedy`",
            Block::Table => "in a `table`",
            Block::Instrument => "in an `instrument`",
            Block::Gauge => "in a `gauge`",
            Block::Example => "in an `example`",
        }
    }

    pub const ALL: [Block; 12] = [
        Block::File,
        Block::Step,
        Block::Method,
        Block::Read,
        Block::Observe,
        Block::Let,
        Block::Adjustment,
        Block::Remedy,
        Block::Table,
        Block::Instrument,
        Block::Gauge,
        Block::Example,
    ];
}

const FILE: &[LineKind] = &[
    line("language", Rule::number_line),
    line("procedure", Rule::text_line),
    line("library", Rule::text_line),
    line("kit", Rule::text_line),
    line("revision", Rule::text_line),
    line("scope", Rule::text_line),
    line("basis", Rule::text_line),
    line("note", Rule::text_line),
    line("decide", Rule::decide_line),
    line("party", Rule::name_text_line),
    line("include", Rule::text_line),
    line("fact", Rule::fact_line),
    opens("let", Rule::let_line, Block::Let),
    line("axis", Rule::over_line),
    opens("instrument", Rule::name_text_line, Block::Instrument),
    opens("gauge", Rule::gauge_line, Block::Gauge),
    opens("table", Rule::table_line, Block::Table),
    line("section", Rule::section_line),
    opens("step", Rule::step_line, Block::Step),
    opens("method", Rule::method_line, Block::Method),
    line("crosscheck", Rule::crosscheck_line),
    opens("example", Rule::text_line, Block::Example),
];

const STEP: &[LineKind] = &[
    line("setup", Rule::text_line),
    line("caution", Rule::text_line),
    line("conditions", Rule::text_line),
    line("note", Rule::text_line),
    line("basis", Rule::text_line),
    line("confirm", Rule::text_line),
    line("powered", Rule::bare_line),
    line("by", Rule::text_line),
    line("only", Rule::when_line),
    line("needs", Rule::needs_line),
    line("keeps", Rule::keeps_line),
    line("unsettles", Rule::names_line),
    line("tries", Rule::number_line),
    line("optional", Rule::bare_line),
    line("hold", Rule::name_text_line),
    line("wait", Rule::wait_line),
    opens("read", Rule::read_line, Block::Read),
    opens("observe", Rule::fact_line, Block::Observe),
    opens("let", Rule::let_line, Block::Let),
    opens("adjustment", Rule::adjustment_line, Block::Adjustment),
    opens("remedy", Rule::remedy_line, Block::Remedy),
    line("defects", Rule::text_line),
    line("valid", Rule::when_text_line),
    line("tolerance", Rule::tolerance_line),
    line("require", Rule::expression_line),
    line("report", Rule::sum_line),
    line("decide", Rule::decide_line),
    line("uncertainty", Rule::set_up_line),
    line("stop", Rule::when_text_line),
];

const READ: &[LineKind] = &[
    line("over", Rule::over_line),
    line("times", Rule::times_line),
    line("high", Rule::high_low_line),
    line("there", Rule::there_back_line),
    line("survey", Rule::survey_line),
    line("every", Rule::every_line),
    line("until", Rule::expression_line),
    line("plus", Rule::text_line),
    line("minus", Rule::text_line),
    line("unsigned", Rule::bare_line),
    line("sense", Rule::sense_line),
    line("station", Rule::station_line),
    line("ask", Rule::text_line),
    line("usual", Rule::range_line),
    line("remeasure", Rule::remeasure_rule_line),
    line("not", Rule::not_read_line),
    line("open", Rule::open_ended_line),
    line("join", Rule::join_line),
    line("only", Rule::when_line),
];

const OBSERVE: &[LineKind] =
    &[line("over", Rule::over_line), line("only", Rule::when_line), line("with", Rule::name_line)];

const LET: &[LineKind] =
    &[line("plus", Rule::text_line), line("minus", Rule::text_line), line("unsigned", Rule::bare_line)];

const ADJUSTMENT: &[LineKind] = &[
    line("plus", Rule::text_line),
    line("minus", Rule::text_line),
    line("over", Rule::over_line),
    line("predicts", Rule::predicts_line),
];

const REMEDY: &[LineKind] = &[line("advise", Rule::advise_line)];

const TABLE: &[LineKind] = &[
    line("when", Rule::row_line),
    line("up", Rule::row_line),
    line("every", Rule::row_line),
    line("then", Rule::row_line),
];

const INSTRUMENT: &[LineKind] = &[
    line("resolution", Rule::resolution_line),
    line("scale", Rule::scale_line),
    line("uncertainty", Rule::uncertainty_line),
    line("range", Rule::range_line),
];

const GAUGE: &[LineKind] = &[
    line("serial", Rule::text_line),
    line("certificate", Rule::text_line),
    line("calibrated", Rule::calibrated_line),
    line("resolution", Rule::resolution_line),
    line("scale", Rule::scale_line),
    line("uncertainty", Rule::uncertainty_line),
    line("range", Rule::range_line),
    line("note", Rule::text_line),
];

const EXAMPLE: &[LineKind] = &[
    line("day", Rule::day_line),
    line("given", Rule::given_line),
    line("previous", Rule::previous_line),
    line("using", Rule::using_line),
    line("list", Rule::list_line),
    line("take", Rule::again_line),
    line("enter", Rule::enter_line),
    line("observe", Rule::enter_line),
    line("confirm", Rule::confirm_line),
    line("type", Rule::text_line),
    line("keep", Rule::text_line),
    line("correct", Rule::correct_line),
    line("remeasure", Rule::remeasure_line),
    line("adjust", Rule::adjust_line),
    line("altered", Rule::altered_line),
    line("again", Rule::again_line),
    line("break", Rule::break_line),
    line("rejoin", Rule::rejoin_line),
    line("end", Rule::end_line),
    line("skip", Rule::step_text_line),
    line("waive", Rule::waive_line),
    line("held", Rule::held_line),
    line("defect", Rule::defect_line),
    line("defects", Rule::defects_line),
    line("mended", Rule::mended_line),
    line("accepted", Rule::accepted_line),
    line("stop", Rule::step_text_line),
    line("justify", Rule::justify_line),
    line("note", Rule::text_line),
    line("expect", Rule::expect_line),
];
