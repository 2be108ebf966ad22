//! Rules of the grammar in the words of the bench. One exhaustive function, so that no rule goes without.

use super::grammar::Rule;

/// What the rule takes, as said after "expected". A token with one spelling stands in back quotes.
pub(super) fn plain(rule: Rule) -> &'static str {
    match rule {
        Rule::called_per => "a function",
        Rule::over_axes => "`over`",
        Rule::by_way => "`by`",
        Rule::equals => "`=`",
        Rule::comma => "`,`",
        Rule::semicolon => "`;`",
        Rule::open_bracket => "`(`",
        Rule::close_bracket => "`)`",
        Rule::open_square => "`[`",
        Rule::close_square => "`]`",
        Rule::word_above => "`above`",
        Rule::word_after => "`after`",
        Rule::word_against => "`against`",
        Rule::word_allowance => "`allowance`",
        Rule::word_allowed => "`allowed`",
        Rule::word_and => "`and`",
        Rule::word_any => "`any`",
        Rule::word_at => "`at`",
        Rule::word_back => "`back`",
        Rule::word_before => "`before`",
        Rule::word_below => "`below`",
        Rule::word_by => "`by`",
        Rule::word_cap => "`cap`",
        Rule::word_closing => "`closing`",
        Rule::word_concave => "`concave`",
        Rule::word_convex => "`convex`",
        Rule::word_count => "`count`",
        Rule::word_counts => "`counts`",
        Rule::word_date => "`date`",
        Rule::word_done => "`done`",
        Rule::word_else => "`else`",
        Rule::word_ended => "`ended`",
        Rule::word_every => "`every`",
        Rule::word_exceptions => "`exceptions`",
        Rule::word_flat => "`flat`",
        Rule::word_floor => "`floor`",
        Rule::word_follows => "`follows`",
        Rule::word_foot => "`foot`",
        Rule::word_for => "`for`",
        Rule::word_fresh => "`fresh`",
        Rule::word_from => "`from`",
        Rule::word_guarded => "`guarded`",
        Rule::word_if => "`if`",
        Rule::word_in => "`in`",
        Rule::word_is => "`is`",
        Rule::word_joined => "`joined`",
        Rule::word_k => "`k`",
        Rule::word_latest => "`latest`",
        Rule::word_lines => "`lines`",
        Rule::word_low => "`low`",
        Rule::word_mean => "`mean`",
        Rule::word_minus => "`minus`",
        Rule::word_because | Rule::because => "`because`, or a text in quotes",
        Rule::word_never => "`never`",
        Rule::word_moved | Rule::moved_by => "`moved`",
        Rule::word_no => "`no`",
        Rule::word_not => "`not`",
        Rule::word_of => "`of`",
        Rule::word_open => "`open`",
        Rule::word_trapezoidal => "`trapezoidal`",
        Rule::word_set | Rule::set_number => "`set`",
        Rule::word_try | Rule::try_number => "`try`",
        Rule::word_calibrated | Rule::calibrated_of => "`calibrated until`",
        Rule::read_again | Rule::again_at => "`read again`",
        Rule::of_try => "`of`",
        Rule::word_on => "`on`",
        Rule::word_or => "`or`",
        Rule::word_over => "`over`",
        Rule::word_passed => "`passed`",
        Rule::word_per => "`per`",
        Rule::word_photo => "`photo`",
        Rule::word_plus => "`plus`",
        Rule::word_query => "`query`",
        Rule::word_range => "`range`",
        Rule::word_read => "`read`",
        Rule::word_refused => "`refused`",
        Rule::word_repeats => "`repeats`",
        Rule::word_resolution => "`resolution`",
        Rule::word_scale => "`scale`",
        Rule::word_simple => "`simple`",
        Rule::word_stations => "`stations`",
        Rule::word_steady => "`steady`",
        Rule::word_stepped => "`stepped`",
        Rule::word_text => "`text`",
        Rule::word_the => "`the`",
        Rule::word_then => "`then`",
        Rule::word_to => "`to`",
        Rule::word_torque | Rule::torque_of => "`torque`",
        Rule::word_toward | Rule::moved_toward => "`toward`",
        Rule::word_u => "`U`",
        Rule::word_uncertainty => "`uncertainty`",
        Rule::word_until => "`until`",
        Rule::word_using => "`using`",
        Rule::word_verdict => "`verdict`",
        Rule::word_when => "`when`",
        Rule::word_within => "`within`",
        Rule::word_with => "`with`",
        Rule::word_yes => "`yes`",
        Rule::word_zero => "`zero`",
        Rule::as_found => "`as found`",
        Rule::as_left => "`as left`",
        Rule::as_listed => "`as listed`",
        Rule::at_least => "`at least`",
        Rule::at_most => "`at most`",
        Rule::before_adjusting => "`before adjusting`",
        Rule::every_further => "`every further`",
        Rule::falls_along => "`falls along`",
        Rule::in_any => "`in any`",
        Rule::in_any_order => "`in any order`",
        Rule::look_again => "`look again`",
        Rule::agrees => "`agrees`",
        Rule::not_advised => "`not advised`",
        Rule::not_read => "`not read`",
        Rule::on_withdrawn_advice => "`on withdrawn advice`",
        Rule::one_of => "`one of`",
        Rule::or_part_adds => "`or part adds`",
        Rule::rises_along => "`rises along`",
        Rule::stays_with => "`stays with`",
        Rule::turns_with => "`turns with`",
        Rule::up_to => "`up to`",
        Rule::yes_or_no => "`yes or no`",
        Rule::zero_intact => "`zero intact`",
        Rule::from_the_start => "`from the start`",
        Rule::plus => "`+`",
        Rule::minus => "`-`",
        Rule::times => "`*`",
        Rule::divide => "`/`",
        Rule::percent => "`%`",
        Rule::caret => "`^`",
        Rule::word_outside => "`outside`",
        Rule::is_outside => "`outside`",
        Rule::set_up => "`set_up`",
        Rule::name
        | Rule::path
        | Rule::name_text_line
        | Rule::names_line
        | Rule::name_line
        | Rule::over_line
        | Rule::fact_line
        | Rule::let_line
        | Rule::table_line
        | Rule::section_line
        | Rule::step_line
        | Rule::method_line
        | Rule::parameter
        | Rule::crosscheck_line
        | Rule::need
        | Rule::needs_line
        | Rule::keeps_line
        | Rule::read_line
        | Rule::adjustment_line
        | Rule::advise_line
        | Rule::predicts_line
        | Rule::named
        | Rule::target
        | Rule::given_line
        | Rule::assignment
        | Rule::previous_line
        | Rule::using_line
        | Rule::list_line
        | Rule::enter_line
        | Rule::correct_line
        | Rule::remeasure_line
        | Rule::adjust_line
        | Rule::rejoin_line
        | Rule::justify_line
        | Rule::end_line
        | Rule::defects_line
        | Rule::station_line => "a name",
        Rule::word | Rule::survey_line => "a word",
        Rule::number | Rule::number_line | Rule::times_line | Rule::mended_line | Rule::accepted_line => {
            "a number"
        }
        Rule::date | Rule::day_line => "a date such as `2026-03-02`",
        Rule::unit | Rule::one | Rule::unit_word | Rule::unit_letter | Rule::not_a_unit => "a unit",
        Rule::quantity
        | Rule::resolution_line
        | Rule::scale_line
        | Rule::scale_of
        | Rule::wait_line
        | Rule::every_line => "a quantity such as `0.02 mm`",
        Rule::in_unit => "`in` and a unit",
        Rule::string
        | Rule::prose
        | Rule::text_line
        | Rule::defect_line
        | Rule::step_text_line
        | Rule::altered_line
        | Rule::gauge_line
        | Rule::remedy_line
        | Rule::break_line
        | Rule::waive_line => "a text in quotes",
        Rule::expression
        | Rule::sum
        | Rule::conditional
        | Rule::bracket
        | Rule::outside_tolerance
        | Rule::truth
        | Rule::reference
        | Rule::argument
        | Rule::part_of
        | Rule::negate
        | Rule::expression_line
        | Rule::sum_line
        | Rule::lone_expression
        | Rule::inset
        | Rule::operand
        | Rule::clause
        | Rule::term
        | Rule::row_values
        | Rule::tolerance_line => "a value",
        Rule::arguments | Rule::method_arguments => "a list in brackets",
        Rule::picks => "a station in `[ ]`",
        Rule::pick | Rule::station | Rule::lone_word | Rule::stations => "a station",
        Rule::listed => "`as listed`",
        Rule::run => "`to` or `up to`",
        Rule::power => "`^`",
        Rule::is_test => "`is`",
        Rule::limit
        | Rule::at_most_limit
        | Rule::at_least_limit
        | Rule::above_limit
        | Rule::below_limit
        | Rule::from_to_limit
        | Rule::within_limit
        | Rule::convex_limit
        | Rule::concave_limit
        | Rule::steady_limit
        | Rule::before_limit
        | Rule::after_limit
        | Rule::comparison
        | Rule::test => "a limit such as `at most`",
        Rule::per_length => "`per`",
        Rule::floor => "`floor`",
        Rule::cap => "`cap`",
        Rule::window => "`in any`",
        Rule::window_by => "`spread` or `chord`",
        Rule::EOI | Rule::end | Rule::bare_line => "the end of the line",
        Rule::when_line | Rule::when_text_line => "`when`",
        Rule::range | Rule::range_line => "`from`",
        Rule::decide_line => "`simple` or `guarded`",
        Rule::by_draws => "`by draws`",
        Rule::kind => {
            "a kind of answer: `text`, `yes or no`, `one of`, `date`, `count`, `photo` or `in` and a unit"
        }
        Rule::row_line => "`when`, `up to`, `every further` or `then`",
        Rule::up_to_row => "`up to`",
        Rule::further_row => "`every further`",
        Rule::follows => "`follows`",
        Rule::repeats => "`repeats`",
        Rule::uncertainty_line | Rule::uncertainty_of | Rule::uncertainty_source => {
            "`zero`, `fresh` or `scale`"
        }
        Rule::calibrated_line => "`until`",
        Rule::set_up_line => "`set_up`",
        Rule::spread => "`k 2`, or `rectangular`, `triangular`, `trapezoidal` or `arcsine`",
        Rule::shape => "`rectangular`, `triangular` or `arcsine`",
        Rule::trapezoid => "`trapezoidal flat 0.001 mm`",
        Rule::loose => "`rectangular give or take 0.0005 mm`",
        Rule::word_rectangular => "`rectangular`",
        Rule::give_or_take => "`give or take`",
        Rule::freedom => "`with 8 degrees of freedom`",
        Rule::of_freedom => "`degrees of freedom`",
        Rule::high_low_line => "`and low`",
        Rule::there_back_line => "`and back`",
        Rule::sense_line => "`stays with`, `turns with`, `rises along` or `falls along`",
        Rule::noun => "what it goes with, such as `machine`",
        Rule::remeasure_rule_line => "`latest counts` or `mean counts`",
        Rule::not_read_line => "`read allowed`",
        Rule::open_ended_line => "`ended allowed`",
        Rule::join_line => "`on`",
        Rule::at_time | Rule::altered_at => "`at`",
        Rule::done_by => "`by`",
        Rule::withdrawn => "`not read` and why",
        Rule::said_card => "an instrument, such as `dial \"DI-07\", resolution 0.001 mm`",
        Rule::correct_said | Rule::said_kind => "what was said, such as `move 1` or `note 1`",
        Rule::said_which => "`which`",
        Rule::said_part => "a part of it, such as `torque` or `by`",
        Rule::rows | Rule::row | Rule::answer => "a reading, a word or a text",
        Rule::property => "a property such as `resolution 0.001 mm`",
        Rule::confirm_line => "a name, `yes` or `no`",
        Rule::again_line => "a name or the end of the line",

        Rule::held_line => "a name or `by`",
        Rule::expect_line | Rule::bare_expectation => {
            "a step, a result, `verdict`, `exceptions`, `query` or `refused`"
        }
        Rule::verdict => "`accepted`, `accepted with exceptions`, `not accepted` or `unfinished`",
        Rule::outcome => "what is expected, such as `=` or `passes`",
        Rule::figure => "`uncertainty`, `limit`, `advised` or `predicted`",
        Rule::state => "a state such as `passes` or `fails`",
        Rule::WHITESPACE | Rule::COMMENT | Rule::gap => "a blank",
        Rule::letter => "a letter",
        Rule::reserved => "a word that begins or follows an expression",
    }
}
