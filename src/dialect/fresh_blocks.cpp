#include "dialect/fresh_blocks.hpp"

#include <fmt/format.h>

#include <cmath>
#include <utility>

namespace restep::dialect {

using motion::Step;

struct FreshBlocks::WriteEvent {
  FreshBlocks& to;

  void operator()(motion::Motion const& m) const { to.write_motion(m); }
  void operator()(motion::Cycle const& c) const { to.write_cycle(c); }
  void operator()(motion::Home const& h) const { to.write_home(h); }
  void operator()(motion::MachineMove const& m) const { to.write_machine_move(m); }
  void operator()(motion::Probe const& p) const { to.write_probe(p); }
  void operator()(motion::Dwell const& d) const {
    to.prepare();
    to.leave_cycle();
    to.block_.code('G', 40);
    to.add_dwell(d.seconds);
    to.end_block();
  }
  void operator()(motion::SpindleTurn const& s) const {
    if (to.pending_speed_ && s.rotation != motion::Rotation::stop) {
      to.block_.number('S', digits_of(*to.pending_speed_, to.dialect_.decimals_speed),
                       to.dialect_.decimals_speed);
      to.pending_speed_.reset();
    } else {
      to.flush();
    }
    to.block_.code('M', 30 + 10 * static_cast<int>(s.rotation));
    to.end_block();
    to.control_.follow(s);
  }
  void operator()(motion::SpindleSpeed const& s) const {
    if (!(s.rpm >= 0 && s.rpm <= largest_number)) {
      to.refuse("spindle-speed", fmt::format("a spindle speed of {} cannot be written", s.rpm), "");
      return;
    }
    to.pending_speed_ = s.rpm;
    to.pending_optional_ = to.optional_;
    to.control_.follow(s);
  }
  void operator()(motion::ToolSelect const& t) const {
    if (!to.dialect_.tool_change) return;
    to.pending_tool_ = t.tool;
    to.pending_optional_ = to.optional_;
    to.control_.follow(t);
  }
  void operator()(motion::ToolChange const& t) const { to.write_tool_change(t); }
  void operator()(motion::Coolant const& c) const { to.write_words('M', 70 + 10 * static_cast<int>(c.kind)); }
  void operator()(motion::Stop const& s) const { to.write_stop(s); }
  void operator()(motion::Override const& o) const {
    if (!to.dialect_.overrides) {
      to.warn_once("no-override-lock", "the control has no M48 and M49: the override knobs stay in force",
                   "leave the feed and speed overrides at 100 % where the program locked them");
      return;
    }
    to.write_words('M', o.enabled ? 480 : 490);
  }
  void operator()(motion::WorkOffset const& w) const { to.write_work_offset(w); }
  void operator()(motion::LengthOffset const& l) const { to.write_length_offset(l); }
  void operator()(motion::PathControl const& p) const {
    if (!to.dialect_.path_control) {
      to.warn_once("no-path-control", "the control has no G61 and G64: it rounds corners as it always does",
                   "check sharp corners on the first part");
      return;
    }
    to.prepare();
    to.leave_cycle();
    to.block_.code('G', p.mode == motion::PathMode::exact_path   ? 610
                        : p.mode == motion::PathMode::exact_stop ? 611
                                                                 : 640);
    if (p.mode == motion::PathMode::continuous && p.tolerance > 0) {
      if (to.dialect_.path_tolerance) {
        to.add_length('P', p.tolerance);
      } else {
        to.warn_once("no-path-tolerance", "the control has no tolerance with G64: P is left out",
                     "check sharp corners on the first part");
      }
    }
    to.end_block();
  }
  void operator()(motion::Compensation const& c) const {
    if (std::exchange(to.cancelled_, false)) return;
    if (!to.dialect_.compensation) {
      if (c.side != motion::Side::off)
        to.refuse("no-compensation", "the control has no cutter radius compensation (G41, G42)",
                  "post the program with the tool's centre path");
      return;
    }
    to.prepare();
    to.leave_cycle();
    to.block_.code('G', 400 + 10 * static_cast<int>(c.side));
    if (c.side != motion::Side::off && c.index >= 0) to.block_.whole('D', c.index);
    to.end_block();
  }
  void operator()(motion::OffsetChange const& o) const { to.write_offset_change(o); }
  void operator()(motion::SetOrigin const& o) const { to.write_set_origin(o); }
  void operator()(motion::Comment const& c) const { to.write_comment(c.text, c.message); }
  void operator()(motion::Carried const& c) const { to.write_carried(c); }
  void operator()(motion::Layout const& l) const { to.write_layout(l); }
};

FreshBlocks::FreshBlocks(Dialect const& dialect, text::Findings& findings,
                         std::function<void(std::string_view)> out, BlockWriter::Count& count,
                         bool same_dialect)
    : dialect_(dialect)
    , findings_(findings)
    , out_(std::move(out))
    , count_(count)
    , same_dialect_(same_dialect)
    , line_end_(dialect.line_end)
    , line_number_(dialect.line_number_start)
    , begun_(same_dialect)
    , numbered_(same_dialect)
    , block_(dialect) {}

void FreshBlocks::write(Step const& step) {
  bool const joins_speed = pending_speed_ && std::holds_alternative<motion::SpindleTurn>(step.event);
  bool const joins_tool = pending_tool_ && std::holds_alternative<motion::ToolChange>(step.event);
  bool const is_comment = std::holds_alternative<motion::Comment>(step.event);
  auto const delete_switch = step.delete_switch == 0 ? '\0' : static_cast<char>('0' + step.delete_switch);
  bool const joins = joins_speed || joins_tool || is_comment;
  if (!joins || pending_optional_ != step.optional || delete_switch != delete_switch_) flush();
  delete_switch_ = delete_switch;
  step_ = &step;
  optional_ = step.optional && dialect_.block_delete;
  if (modes_were_given_ && !is_comment && !std::holds_alternative<motion::Layout>(step.event)) prepare();
  if (step.optional && !dialect_.block_delete)
    warn_once("no-block-delete", "the control has no block delete: blocks with '/' are always executed",
              "remove those blocks when they are not wanted");
  std::visit(WriteEvent{*this}, step.event);
  if (optional_) {
    // Whether the block runs is the operator's choice: nothing that it set may be relied on.
    control_.knowledge = Knowledge::restated;
    control_.position = motion::unknown_position;
  }
  if ((step.last_in_block || step.generated) && !pending_comment_.empty()) {
    put_comment_lines("", pending_comment_);
    pending_comment_.clear();
  }
  step_ = nullptr;
}

void FreshBlocks::flush() {
  bool const optional = std::exchange(optional_, pending_optional_);
  if (pending_speed_) {
    block_.number('S', digits_of(*pending_speed_, dialect_.decimals_speed), dialect_.decimals_speed);
    pending_speed_.reset();
    end_block();
  }
  if (pending_tool_) {
    block_.whole('T', *pending_tool_);
    pending_tool_.reset();
    end_block();
  }
  optional_ = optional;
  pending_optional_ = false;
}

void FreshBlocks::finish() {
  flush();
  if (!before_number_.empty()) number_program(0);
  if (!same_dialect_ && dialect_.percent) {
    begin_program();
    put_line("%", false);
  }
}

void FreshBlocks::warn_once(std::string code, std::string message, std::string hint) {
  if (!told_.insert(code).second) return;
  findings_.add(text::Severity::warning, std::move(code), std::move(message), std::move(hint),
                step_ == nullptr ? text::Place{} : step_->place);
}

void FreshBlocks::note_once(std::string code, std::string message, std::string hint) {
  if (!told_.insert(code).second) return;
  findings_.add(text::Severity::note, std::move(code), std::move(message), std::move(hint),
                step_ == nullptr ? text::Place{} : step_->place);
}

void FreshBlocks::refuse(std::string code, std::string message, std::string hint) {
  findings_.add(text::Severity::error, std::move(code), std::move(message), std::move(hint),
                step_ == nullptr ? text::Place{} : step_->place);
}

void FreshBlocks::write_words(char letter, int tenths) {
  block_.code(letter, tenths);
  end_block();
}

bool is_modeless(motion::Event const& event) {
  if (auto const* stop = std::get_if<motion::Stop>(&event))
    return stop->kind != motion::StopKind::end && stop->kind != motion::StopKind::end_rewind;
  return std::holds_alternative<motion::Comment>(event) ||
         std::holds_alternative<motion::SpindleTurn>(event) ||
         std::holds_alternative<motion::SpindleSpeed>(event) ||
         std::holds_alternative<motion::ToolSelect>(event) ||
         std::holds_alternative<motion::Coolant>(event) || std::holds_alternative<motion::Override>(event);
}

} // namespace restep::dialect
