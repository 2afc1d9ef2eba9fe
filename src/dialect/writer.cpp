// Decides for each block of the source whether its text may be copied, and joins copied blocks into long
// runs.
//
// The rule: a control that has read the same bytes so far is in the same state (`following_`,
// `at_same_place_`). A block written afresh, added or left out ends that; copying begins again where the
// modes and the position are equal once more.

#include "dialect/writer.hpp"

#include "dialect/control.hpp"
#include "dialect/copied_text.hpp"
#include "dialect/fresh_blocks.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace restep::dialect {
namespace {

using motion::Modes;
using motion::Step;
using motion::Vec3;

struct StartOf {
  Vec3 const* operator()(motion::Motion const& m) const { return &m.from; }
  Vec3 const* operator()(motion::Cycle const& c) const { return &c.from; }
  Vec3 const* operator()(motion::Home const& h) const { return &h.from; }
  Vec3 const* operator()(motion::MachineMove const& m) const { return &m.from; }
  Vec3 const* operator()(motion::Probe const& p) const { return &p.from; }
  template <typename Other>
  Vec3 const* operator()(Other const&) const {
    return nullptr;
  }
};

/// Where the source's tool stood before the event; null for events that do not depend on it.
Vec3 const* start_of(motion::Event const& event) {
  return std::visit(StartOf{}, event);
}

/// Where the feed stands that an event runs at; null for events that use none.
struct FeedOf {
  double const* operator()(motion::Motion const& m) const {
    return motion::is_cutting(m) ? &m.feed : nullptr;
  }
  double const* operator()(motion::Cycle const& c) const { return &c.feed; }
  double const* operator()(motion::MachineMove const& m) const { return m.rapid ? nullptr : &m.feed; }
  double const* operator()(motion::Probe const& p) const { return &p.feed; }
  template <typename Other>
  double const* operator()(Other const&) const {
    return nullptr;
  }
};

/// Events whose effect depends on the place though they name none.
bool depends_on_place(Step const& step) {
  return std::holds_alternative<motion::OffsetChange>(step.event) ||
         std::holds_alternative<motion::Carried>(step.event);
}

/// The feed in force is the wanted one, or the program has given none yet (0) and cannot count on any.
bool same_feed(double now, double wanted) {
  return wanted == 0 || std::abs(now - wanted) <= 1e-9 * std::max(1.0, wanted);
}

/// True when a block of plane, distance and return words is all it takes to make them equal.
bool can_be_restated(Modes const& now, Modes const& wanted) {
  return now.motion == wanted.motion && now.units == wanted.units && now.feed_mode == wanted.feed_mode &&
         same_feed(now.feed, wanted.feed);
}

bool same_modes(Modes const& now, Modes const& wanted) {
  return can_be_restated(now, wanted) && now.plane == wanted.plane && now.distance == wanted.distance &&
         now.arc_distance == wanted.arc_distance && now.return_level == wanted.return_level;
}

bool is_layout(Step const& step, motion::LayoutKind kind) {
  auto const* layout = std::get_if<motion::Layout>(&step.event);
  return layout != nullptr && layout->kind == kind;
}

} // namespace

struct BlockWriter::Implementation {
  Implementation(Dialect const& dialect, text::Input& source, std::function<void(std::string_view)> sink,
                 text::Findings& findings, Options options)
      : dialect_(dialect)
      , options_(options)
      , text_(source, dialect_.line_end, std::move(sink))
      , fresh_(
            dialect_, findings, [this](std::string_view line) { text_.put(line, last_); }, count,
            options.verbatim)
      , keeps_flow_(options.passages != nullptr &&
                    std::any_of(options.passages->begin(), options.passages->end(),
                                [](auto const& passage) { return passage.keep && passage.flow; })) {}

  void write(Step const& step) {
    if (step.passage != 0 || passage_ != 0) {
      if (write_passage(step)) return;
    }
    // The hot path: one more untouched block behind a run of them.
    if (text_.is_open() && following_ && at_same_place_ && block_.empty() &&
        step.place.line == last_.line + 1 && step.first_in_block && step.last_in_block && !step.touched &&
        !step.generated && !step.optional && may_extend(step) && feed_holds({&step, 1})) {
      text_.reach(step.place.offset);
      begin_copied(step);
      follow(step);
      return;
    }
    if (step.generated) {
      close_block(false);
      bool const states_head = fresh_.states_head(step);
      is_modeless(step.event) || states_head ? use_line_end_of(step) : leave(step);
      modes_are_stated_ = modes_are_stated_ || states_head;
      in_doubt_ = in_doubt_ || step.optional;
      fresh_.write(step);
      return;
    }
    if (step.first_in_block) close_block(false);
    block_.push_back(step);
    if (step.last_in_block) close_block(true);
  }

  void write(motion::Stretch cuts) {
    if (is_all_afresh(cuts)) {
      leave(cuts.step(0));
      fresh_.write(cuts);
      text_.done_before(cuts.places()[0].offset);
      return;
    }
    for (; !goes_on(cuts); cuts = cuts.behind(1)) {
      write(cuts.step(0));
      if (cuts.size == 1) return;
    }
    text_.reach(cuts.last_place().offset);
    passage_is_last_ = false;
    last_ = cuts.last_place();
    last_modes_ = cuts.modes;
    last_feed_ = cuts.like.feed;
    count.copied += cuts.size;
    fresh_.control().position = cuts.end();
    modes_are_stated_ = true;
  }

  void finish() {
    leave_passage();
    close_block(false);
    text_.close(last_);
    fresh_.finish();
    text_.flush();
  }

  Count count;
  std::vector<Broken> broken;

private:
  Dialect dialect_;
  Options options_;
  CopiedText text_;
  FreshBlocks fresh_;

  std::vector<Step> block_; ///< the steps of the block that is being collected

  text::Place last_;                   ///< the block copied last; line 0 when there is none
  Modes last_modes_;                   ///< before it
  double last_feed_ = motion::unknown; ///< of its feed motion, when it has one

  bool following_ = true; ///< the modes are the source's own as long as blocks are copied in sequence
  std::optional<double> other_feed_; ///< all but the feed, which is this and stays it
  bool at_same_place_ = true;        ///< so is the position
  bool all_copied_ = true;           ///< from the first block to here: parameters are the source's own too
  bool modes_are_stated_ = false;    ///< a copied block relied on the modes or stated them
  bool in_doubt_ = false;            ///< a copied block with "/" may or may not have run

  bool keeps_flow_ = false;           ///< a call or loop is kept
  std::uint32_t passage_ = 0;         ///< number of the passage being copied
  std::uint32_t last_passage_ = 0;    ///< of the one copied last
  bool passage_is_last_ = false;      ///< nothing was written behind it
  bool place_in_doubt_ = false;       ///< nothing in the passage has yet said where the source's tool was
  std::optional<Broken::Why> doubt_;  ///< why it is wrong to keep the passage, if anything happens in it
  std::uint32_t setting_lost_at_ = 0; ///< the line of a setting that was written as its value; 0: none

  bool is_all_afresh(motion::Stretch const& cuts) const {
    if (passage_ != 0 || !block_.empty()) return false;
    return options_.verbatim ? cuts.other_feed && cuts.says_feed : !following_;
  }

  /// As on the hot path; the text of a stretch holds no parameter.
  bool goes_on(motion::Stretch const& cuts) const {
    bool const same_feed_holds =
        other_feed_ ? !cuts.says_feed && same_feed(*other_feed_, cuts.like.feed) : !cuts.other_feed;
    return passage_ == 0 && text_.is_open() && following_ && at_same_place_ && block_.empty() &&
           cuts.places()[0].line == last_.line + 1 && same_feed_holds;
  }

  bool may_extend(Step const& step) {
    return (all_copied_ && dialect_.parameters) || text_.is_literal_at(step.place);
  }

  void begin_copied(Step const& step) {
    passage_is_last_ = false;
    last_ = step.place;
    last_modes_ = step.modes;
    last_feed_ = motion::unknown;
    ++count.copied;
  }

  /// The control after a copied step.
  void follow(Step const& step) {
    in_doubt_ = in_doubt_ || step.optional;
    if (auto const* move = motion::motion_of(step)) {
      fresh_.control().position = move->to;
      if (move->path != motion::PathKind::rapid) last_feed_ = move->feed;
      modes_are_stated_ = true;
      return;
    }
    // A line of modes among which is G40 gives the step of that word and no other.
    modes_are_stated_ = modes_are_stated_ || is_layout(step, motion::LayoutKind::modes) ||
                        std::holds_alternative<motion::Compensation>(step.event) ||
                        start_of(step.event) != nullptr;
    fresh_.control().follow(step.event);
  }

  /// Ends the block being collected: copied or written afresh.
  void close_block(bool complete) {
    if (block_.empty()) return;
    if (!(complete && options_.verbatim && is_untouched() && copied())) {
      for (auto const& step : block_) {
        leave(step);
        fresh_.write(step);
      }
      note_lost_setting();
      text_.done_before(block_.front().place.offset);
    }
    block_.clear();
  }

  bool is_untouched() const {
    return block_.front().first_in_block &&
           std::none_of(block_.begin(), block_.end(), [](Step const& s) { return s.touched; });
  }

  static bool has_other_feed(std::span<Step const> block) {
    return std::any_of(block.begin(), block.end(), [](Step const& step) { return step.other_feed; });
  }

  /// Behind the blocks copied so far the text of this one means the feeds that are meant.
  bool feed_holds(std::span<Step const> block) {
    return other_feed_ ? runs_at(block, *other_feed_) : !has_other_feed(block);
  }

  /// With `feed` in force the block means the feeds that are meant, and leaves it in force.
  bool runs_at(std::span<Step const> block, double feed) {
    bool const wanted = std::all_of(block.begin(), block.end(), [feed](Step const& step) {
      double const* const own = std::visit(FeedOf{}, step.event);
      return own == nullptr || same_feed(feed, *own);
    });
    return wanted && leaves_feed(text_.text_of(block.front().place), block.front().modes);
  }

  bool is_next() const { return block_.front().place.line == last_.line + 1; }

  /// Copies the block if its text means here what it meant in the source.
  bool copied() {
    Step const& first = block_.front();
    auto const text = text_.text_of(first.place);
    if (!dialect_.parameters && !is_literal(text) && !is_neutral(text)) return false;
    if (following_ && is_next() && feed_holds(block_)) {
      if (!all_copied_ && !text_.is_literal_at(first.place) && !is_neutral(text) &&
          !sets_parameters_alike(text))
        return false;
      if (!at_same_place_ && needs_place()) {
        if (!same_places()) return false;
        at_same_place_ = true;
      }
      copy();
      return true;
    }
    leave(first);
    if (is_neutral(text) || sets_parameters_alike(text)) {
      copy();
      return true;
    }
    auto const feed = other_feed_for_block();
    if (!text_.is_literal_at(first.place) || !meets(feed)) return false;
    copy();
    following_ = true;
    other_feed_ = feed;
    at_same_place_ = needs_place();
    return true;
  }

  /// A block that does nothing, in whatever state.
  bool is_neutral(std::string_view text) const {
    Step const& first = block_.front();
    return is_layout(first, motion::LayoutKind::after_end) || is_layout(first, motion::LayoutKind::deleted) ||
           is_layout(first, motion::LayoutKind::percent) || is_comment_only(text);
  }

  /// A block that does nothing but set parameters, while all of them are the source's own: a passage that is
  /// kept may ask for them.
  bool sets_parameters_alike(std::string_view text) const {
    Step const& first = block_.front();
    if (setting_lost_at_ != 0 || !keeps_flow_ || first.optional ||
        !std::holds_alternative<motion::Layout>(first.event))
      return false;
    bool const repeats =
        std::any_of(options_.passages->begin(), options_.passages->end(), [&](auto const& other) {
          return other.first.line <= first.place.line && first.place.line <= other.last.line;
        });
    return !repeats && is_settings_only(text);
  }

  /// The source and the control agree where the tool is before this block.
  bool same_places() {
    for (auto const& step : block_) {
      if (depends_on_place(step)) return false;
      if (auto const* from = start_of(step.event)) return same_position(*from, fresh_.control().position);
    }
    return false;
  }

  bool needs_place() const {
    return std::any_of(block_.begin(), block_.end(), [](Step const& step) {
      return depends_on_place(step) || start_of(step.event) != nullptr;
    });
  }

  /// The control's feed, where it is not the one that the source's has before the block, and yet what is
  /// meant.
  std::optional<double> other_feed_for_block() {
    double const now = fresh_.control().modes.feed;
    if (!has_other_feed(block_) && same_feed(now, block_.front().modes.feed)) return std::nullopt;
    if (!motion::is_known(now) || !runs_at(block_, now)) return std::nullopt;
    return now;
  }

  /// The control is in the state that the block's text counts on, or a few words bring it there. `other_feed`
  /// is right where it has that in force.
  bool meets(std::optional<double> other_feed) {
    if (has_other_feed(block_) && !other_feed) return false;
    Control const& control = fresh_.control();
    Modes wanted = block_.front().modes;
    wanted.feed = other_feed.value_or(wanted.feed);
    if (control.knowledge != Knowledge::known || is_cycle_mode(wanted.motion)) return false;
    if (!needs_place()) return same_modes(control.modes, wanted);
    if (!same_places()) return false;
    if (same_modes(control.modes, wanted)) return true;
    if (!can_be_restated(control.modes, wanted)) return false;
    fresh_.restate(wanted);
    return true;
  }

  void copy() {
    Step const& first = block_.front();
    fresh_.flush();
    if (text_.is_open() && is_next())
      text_.reach(first.place.offset);
    else
      text_.open(first.place, last_);
    begin_copied(first);
    for (auto const& step : block_)
      follow(step);
  }

  void note_lost_setting() {
    text::Place const place = block_.front().place;
    if (options_.passages == nullptr || setting_lost_at_ != 0 || place.line == 0) return;
    auto const text = text_.text_of(place);
    if (text.find('#') != std::string::npos && text.find('=') != std::string::npos)
      setting_lost_at_ = place.line;
  }

  interpret::Passage const& passage() const { return (*options_.passages)[passage_ - 1]; }

  /// One more step that the text of a passage stands for. False when the step is none of these.
  bool write_passage(Step const& step) {
    if (step.passage != passage_) {
      leave_passage();
      if (step.passage == 0) return false;
      close_block(false);
      enter_passage(step);
    }
    if (step.touched || step.other_feed || step.generated)
      break_passage(Broken::Why::changed, step.place.line);
    if (doubt_ && !says_nothing(step)) break_passage(*doubt_, passage().first.line);
    if (place_in_doubt_) {
      Vec3 const* const from = start_of(step.event);
      if (depends_on_place(step) || (from != nullptr && !same_position(*from, fresh_.control().position)))
        break_passage(Broken::Why::state, passage().first.line);
      place_in_doubt_ = place_in_doubt_ && from == nullptr;
    }
    text::Place const place = step.place;
    if (place.line > last_.line && place.line <= passage().last.line) {
      text_.reach_far(place.offset);
      last_ = place;
    }
    if (step.first_in_block) ++count.copied;
    last_modes_ = step.modes;
    last_feed_ = motion::unknown;
    follow(step);
    return true;
  }

  static bool says_nothing(Step const& step) {
    return std::holds_alternative<motion::Layout>(step.event) ||
           std::holds_alternative<motion::Comment>(step.event);
  }

  void enter_passage(Step const& step) {
    passage_ = step.passage;
    doubt_.reset();
    place_in_doubt_ = false;
    text::Place const first = passage().first;
    bool const next = first.line == last_.line + 1;
    if (step.passage <= last_passage_) break_passage(Broken::Why::changed, step.place.line);
    last_passage_ = std::max(last_passage_, step.passage);
    if (!(following_ && next) || other_feed_) {
      leave(step);
      Control const& control = fresh_.control();
      bool const in_cycles = is_cycle_mode(step.modes.motion);
      if (control.knowledge != Knowledge::known || in_cycles || !can_be_restated(control.modes, step.modes))
        doubt_ = Broken::Why::state;
      else if (!same_modes(control.modes, step.modes))
        fresh_.restate(step.modes);
    }
    for (auto const& other : *options_.passages) {
      if (setting_lost_at_ != 0 || other.first.line >= first.line) break;
      if (other.sets && !other.keep) setting_lost_at_ = other.first.line;
    }
    if (setting_lost_at_ != 0) doubt_ = Broken::Why::parameter;
    place_in_doubt_ = !(following_ && next && at_same_place_);
    following_ = true;
    fresh_.flush();
    if (!(text_.is_open() && next)) text_.open(first, last_);
    last_ = first;
  }

  void leave_passage() {
    if (passage_ == 0) return;
    last_ = passage().last;
    passage_is_last_ = true;
    at_same_place_ = !place_in_doubt_;
    passage_ = 0;
  }

  void break_passage(Broken::Why why, std::uint32_t line) {
    if (broken.empty() || broken.back().passage != passage_)
      broken.push_back({passage_, why, why == Broken::Why::parameter ? setting_lost_at_ : line});
  }

  void use_line_end_of(Step const& step) {
    if (!options_.verbatim || step.place.line == 0 || text_.is_given_back(step.place)) return;
    if (auto const end = text_.line_end_behind(step.place); !end.empty()) fresh_.set_line_end(end);
  }

  /// Before something is written that is not a copy: what do the copied blocks leave the control in?
  void leave(Step const& step) {
    use_line_end_of(step);
    if (!following_) return;
    following_ = at_same_place_ = all_copied_ = false;
    if (!options_.verbatim || last_.line == 0) return;
    Control& control = fresh_.control();
    control.initial_level = motion::unknown;
    bool const is_next_block = !step.generated && step.place.line == last_.line + 1;
    std::optional<Modes> modes;
    if (is_next_block)
      modes = step.modes;
    else if (!std::exchange(passage_is_last_, false))
      modes = modes_after(last_modes_, text_.text_of(last_));
    control.modes = modes.value_or(last_modes_);
    if (!motion::is_known(control.modes.feed)) control.modes.feed = last_feed_;
    control.modes.feed = std::exchange(other_feed_, std::nullopt).value_or(control.modes.feed);
    control.knowledge = modes && modes_are_stated_ && !in_doubt_ ? Knowledge::known : Knowledge::restated;
    if (in_doubt_) control.position = motion::unknown_position;
    in_doubt_ = false;
  }
};

BlockWriter::BlockWriter(Dialect const& dialect, text::Input& source,
                         std::function<void(std::string_view)> sink, text::Findings& findings,
                         Options options)
    : implementation_(std::make_unique<Implementation>(dialect, source, std::move(sink), findings, options)) {
}

BlockWriter::~BlockWriter() = default;

void BlockWriter::write(Step const& step) {
  implementation_->write(step);
}

void BlockWriter::write(motion::Stretch const& stretch) {
  implementation_->write(stretch);
}

void BlockWriter::finish() {
  implementation_->finish();
}

std::vector<BlockWriter::Broken> const& BlockWriter::broken() const {
  return implementation_->broken;
}

BlockWriter::Count const& BlockWriter::count() const {
  return implementation_->count;
}

} // namespace restep::dialect
