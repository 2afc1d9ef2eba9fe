// Tool changes, stops, the layout of a program, and words that are carried.

#include "dialect/fresh_blocks.hpp"

#include <fmt/format.h>

#include <charconv>

namespace restep::dialect {

using motion::LayoutKind;
using motion::StopKind;

namespace {

/// The text uses a parameter that a program may set: any but the control's own, from #5061 on.
bool depends_on_program(std::string_view text) {
  constexpr int first_machine_owned = 5061; // NISTIR 6556, table 2
  for (std::size_t at = text.find('#'); at != std::string_view::npos; at = text.find('#', at + 1)) {
    int index = 0;
    auto const digits = text.substr(at + 1);
    std::from_chars(digits.data(), digits.data() + digits.size(), index);
    if (index < first_machine_owned) return true;
  }
  return false;
}

} // namespace

void FreshBlocks::write_tool_change(motion::ToolChange const& t) {
  if (!dialect_.tool_change) {
    control_.follow(t);
    if (!moved_) {
      warn_once("first-tool-by-hand",
                fmt::format("the control has no M6: tool {} must be in the spindle at the start", t.tool),
                "");
    } else if (!stopped_) {
      tool_change_to_stop_for_ = step_->place;
    }
    return;
  }
  prepare();
  leave_cycle();
  bool const select = pending_tool_ || control_.selected_tool != t.tool;
  pending_tool_.reset();
  flush();
  if (select) block_.whole('T', t.tool);
  block_.code('M', 60);
  changes_tool_ = true;
  end_block();
  changes_tool_ = false;
  control_.follow(t);
}

void FreshBlocks::write_stop(motion::Stop const& s) {
  if (!is_modeless(s)) leave_cycle();
  bool const pallet = s.kind == StopKind::pallet;
  if (pallet && !dialect_.pallets)
    warn_once("no-pallets", "the control has no M60: the program stops instead", "change the part by hand");
  switch (s.kind) {
  case StopKind::program: block_.code('M', 0); break;
  case StopKind::optional: block_.code('M', 10); break;
  case StopKind::pallet: block_.code('M', dialect_.pallets ? 600 : 0); break;
  case StopKind::end: block_.code('M', 20); break;
  case StopKind::end_rewind: block_.code('M', 300); break;
  }
  end_block();
  if (s.kind == StopKind::program || pallet) {
    stopped_ = true;
    tool_change_to_stop_for_.reset();
  }
  if (s.kind == StopKind::end || s.kind == StopKind::end_rewind) tool_change_to_stop_for_.reset();
}

void FreshBlocks::write_layout(motion::Layout const& l) {
  switch (l.kind) {
  case LayoutKind::blank:
    if (dialect_.blank_lines && begun_) put_line("", false);
    break;
  case LayoutKind::modes:
    // The blocks that follow state what they need; the first of them where the source did.
    modes_were_given_ = control_.knowledge == Knowledge::nothing;
    break;
  case LayoutKind::state: write_head_state(l.number); break;
  case LayoutKind::percent: // else it is the dialect's own
    if (same_dialect_) put_line("%", false);
    break;
  case LayoutKind::program_number:
    if (same_dialect_) put_line(fmt::format("O{:04}", l.number), false);
    number_program(l.number);
    break;
  case LayoutKind::deleted:
    note_once("deleted-blocks-left-out", "blocks that block delete skips are left out", "");
    break;
  case LayoutKind::after_end:
    note_once("text-after-end-left-out", "text behind the program's end is left out", "");
    break;
  }
}

void FreshBlocks::write_carried(motion::Carried const& c) {
  // A word that was put in stands there because the target's own profile asks for it.
  if (!same_dialect_ && !step_->generated) {
    if (c.motion_unknown) {
      refuse("not-carried",
             fmt::format("'{}' means nothing certain in another dialect and may move the machine", c.text),
             "take these words out of the program, or say what they do");
    } else {
      warn_once("carried-left-out",
                fmt::format("words that another dialect may not have are left out: '{}'", c.text),
                "list the code in the dialect's carried_g or carried_m only where the control has it");
    }
    return;
  }
  prepare();
  leave_cycle();
  if (c.motion_unknown) {
    if (depends_on_program(c.text))
      refuse("carried-with-parameters",
             fmt::format("'{}' uses parameters that the rewritten program no longer sets as the source did",
                         c.text),
             "leave the blocks before it unchanged: skip the stages that change them");
    auto const& meant = step_->modes;
    restate(meant);
    if (control_.modes.motion != meant.motion)
      refuse("carried-in-another-state",
             fmt::format("'{}' may depend on a motion mode that is no longer in force", c.text),
             "leave the blocks around it unchanged");
  }
  block_.words(c.text);
  end_block();
  control_.follow(c);
  // Nobody knows what it leaves in force.
  if (c.motion_unknown) control_.knowledge = Knowledge::restated;
}

} // namespace restep::dialect
