// The stages in the order in which they run.
//
// restep first: it needs the program's own passes. Then the spindle, because lowering it lowers feeds: a feed
// is first brought to the chip load it was meant to have, and only what is still above a limit after that is
// clamped. The other way round a feed that is above its limit at the old speed would be lowered twice and the
// tool would rub. Either way no feed ends above a limit, since both only lower. Rapids are traced while T and
// M6 still say which tool it is, and behind all that changes cuts. Coolant words before tool changes, which
// switch on again what was on. Tool numbers behind them, so that messages and the tool table go by the
// program's own; the wait for the spindle behind what switches it on. Tool changes before retracts: a change
// by hand needs a retract too. Reference moves in between, so that the retracts see the heights that stand
// for them. What the control's profile asks for behind all that change what the program says; the frame last,
// around everything.
//
// fit-arcs and join-lines, when asked for, behind restep, so that a pass that was re-stepped in chords has
// its arcs too, and before the feed limits, which differ from chord to chord where those of the axes do.
// Arcs before lines: what is left then bends nowhere, and no line is fitted twice. edge-feeds behind them,
// for it knows arcs only, and before the speeds and limits, which take the feeds as they are meant.

#include "transform/clamp_feeds.hpp"
#include "transform/clamp_spindle.hpp"
#include "transform/control_lines.hpp"
#include "transform/coolant_words.hpp"
#include "transform/edge_feeds.hpp"
#include "transform/fit_arcs.hpp"
#include "transform/join_lines.hpp"
#include "transform/program_frame.hpp"
#include "transform/reference_moves.hpp"
#include "transform/replace_words.hpp"
#include "transform/restep.hpp"
#include "transform/safe_retracts.hpp"
#include "transform/spindle_start.hpp"
#include "transform/tool_change.hpp"
#include "transform/tool_numbers.hpp"
#include "transform/trace_rapids.hpp"
#include "transform/transform.hpp"

#include <array>

namespace restep::transform {

std::span<Stage const> stages() {
  static constexpr std::array all{
      Stage{"restep", "give finishing passes the levels that the finish asks for", make_restep},
      Stage{"fit-arcs", "write chords of arcs as arcs, within --path-tol", make_fit_arcs, true},
      Stage{"join-lines", "write collinear lines as one, within --path-tol", make_join_lines, true},
      Stage{"edge-feeds", "lower feeds on inside arcs to the centre's", make_edge_feeds, true},
      Stage{"clamp-spindle", "lower spindle speeds above the machine's, feeds in proportion",
            make_clamp_spindle},
      Stage{"clamp-feeds", "lower feeds above the machine's limits", make_clamp_feeds},
      Stage{"trace-rapids", "leave low rapids that are clear, feed into standing stock", make_trace_rapids},
      Stage{"coolant-words", "say coolant in the words that the machine has", make_coolant_words},
      Stage{"tool-change", "complete tool changes, or ask for them by hand", make_tool_change},
      Stage{"tool-numbers", "call tools by the numbers that the job's tool-map gives", make_tool_numbers},
      Stage{"spindle-start", "wait before a cut until the spindle is at speed", make_spindle_start},
      Stage{"reference-moves", "retract by Z where the control has no G28 or G53", make_reference_moves},
      Stage{"safe-retracts", "let no rapid travel sideways below the clearance height", make_safe_retracts},
      Stage{"replace-words", "say words by the names that the control has for them", make_replace_words},
      Stage{"control-lines", "put in the lines that the control's profile wants", make_control_lines},
      Stage{"program-frame", "cautions and missing state at the head, all off at the end",
            make_program_frame},
  };
  return all;
}

} // namespace restep::transform
