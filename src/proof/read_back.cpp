#include "proof/read_back.hpp"

#include "interpret/reader.hpp"
#include "motion/cycle.hpp"
#include "proof/agreement.hpp"
#include "proof/control_state.hpp"
#include "proof/course.hpp"
#include "proof/event_text.hpp"
#include "proof/expectations.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <utility>
#include <vector>

namespace restep::proof {

namespace {

std::string describe(BlockDelete const& mark) {
  return mark.number == 0 ? "'/'" : fmt::format("'/{}'", mark.number);
}

/// A part of a cycle that was read, while what was meant is awaited.
struct Part {
  motion::Event event;
  BlockDelete mark;
};

/// How far one looks into the expected events to tell a missing one from a changed one.
constexpr std::size_t look_ahead = 4;

/// What the dialect cannot say at all, and what therefore cannot come back. Nothing here moves an axis: a
/// motion that cannot be said is a failure, whatever the reason.
bool cannot_be_said(dialect::Dialect const& dialect, motion::Event const& event) {
  if (std::holds_alternative<motion::LengthOffset>(event)) return !dialect.length_offset;
  if (std::holds_alternative<motion::PathControl>(event)) return !dialect.path_control;
  if (std::holds_alternative<motion::ToolSelect>(event) || std::holds_alternative<motion::ToolChange>(event))
    return !dialect.tool_change;
  if (std::holds_alternative<motion::Override>(event)) return !dialect.overrides;
  // Only switching it off: a control without compensation never has it on, and the writer refuses to switch
  // it on.
  if (auto const* side = std::get_if<motion::Compensation>(&event);
      side != nullptr && side->side == motion::Side::off)
    return !dialect.compensation;
  if (auto const* work = std::get_if<motion::WorkOffset>(&event))
    return !dialect.work_offsets && work->system == 1;
  return false;
}

/// No axis moves. Where it stands need not be known.
bool stands_still(motion::Motion const& move) {
  if (move.blind != 0) return false;
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(move.to[axis]) != motion::is_known(move.from[axis])) return false;
    if (motion::is_known(move.to[axis]) && move.to[axis] != move.from[axis]) return false;
  }
  return true;
}

/// For people, or without any effect.
bool says_nothing(motion::Event const& event) {
  if (std::holds_alternative<motion::Comment>(event) || std::holds_alternative<motion::Layout>(event))
    return true;
  if (auto const* dwell = std::get_if<motion::Dwell>(&event)) return dwell->seconds == 0;
  if (auto const* move = std::get_if<motion::Motion>(&event)) {
    return !motion::is_arc(*move) && !move->rotary && stands_still(*move);
  }
  return false;
}

/// A meant arc that the output says in pieces, as far as they have been read.
struct Pieces {
  Course course;
  double done = 0; ///< parameter of the course
};

} // namespace

struct ReadBack::Implementation {
  Implementation(dialect::Dialect const& spoken, text::Input output)
      : dialect(spoken)
      , millimetre(tolerances(dialect, motion::Units::mm))
      , inch(tolerances(dialect, motion::Units::inch))
      , input(std::move(output))
      , on_demand(input.closed())
      , reader(input, dialect.read, findings) {}

  dialect::Dialect dialect;
  Tolerances millimetre, inch;
  text::Input input;
  bool on_demand; ///< read no further than to what was meant
  text::Findings findings;
  interpret::ProgramReader reader;

  Expectations queue;
  std::deque<Part> parts; ///< read, not yet compared
  motion::Stretch ahead;  ///< what is left of plain cuts that were read at once
  ControlState meant_state, read_state;
  double meant_rpm = 0;
  std::optional<Pieces> pieces;
  motion::Vec3 position = motion::unknown_position;        ///< where the output has led so far
  motion::Rotation rotation = motion::Rotation::clockwise; ///< of the spindle, as read so far
  std::uint32_t read_line = 0;
  std::uint64_t read_offset = 0;
  ReadBackResult result;
  std::optional<ReadBackFailure> failure;

  void fail(std::uint32_t meant_line, std::string what) {
    if (!failure) failure = ReadBackFailure{meant_line, read_line, std::move(what)};
  }

  void expect(motion::Step const& step) {
    if (says_nothing(step.event) || cannot_be_said(dialect, step.event)) return;
    motion::Event event = step.event;
    if (auto* path = std::get_if<motion::PathControl>(&event); path != nullptr && !dialect.path_tolerance)
      path->tolerance = 0;
    if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event)) meant_rpm = speed->rpm;
    if (!dialect.feed_per_revolution && meant_rpm > 0) feed_per_minute(event);
    // A control without block delete runs such a block always; the writer warns of it.
    BlockDelete const mark = dialect.block_delete ? BlockDelete(step) : BlockDelete();
    if (!meant_state.changed_by(event, mark.optional)) return;
    queue.push(event, step.place.line, mark);
  }

  /// A feed per revolution as a control without G95 must say it: F = f n (mm/rev, rpm).
  void feed_per_minute(motion::Event& event) const {
    auto const convert = [this](auto* feeding) {
      if (feeding == nullptr || feeding->feed_mode != motion::FeedMode::per_revolution) return;
      feeding->feed_mode = motion::FeedMode::per_minute;
      feeding->feed *= meant_rpm;
    };
    convert(std::get_if<motion::Motion>(&event));
    convert(std::get_if<motion::Cycle>(&event));
  }

  void pump() {
    motion::Step step;
    while (!failure && !(on_demand && queue.empty())) {
      if (!parts.empty()) {
        Part const part = parts.front();
        if (!says_nothing(part.event) && !match(part.event, part.mark)) continue;
        parts.pop_front();
        follow(part.event);
        continue;
      }
      if (match_cuts()) continue;
      if (!read_step(step)) break;
      read_line = step.place.line;
      read_offset = step.place.offset;
      if (findings.has_errors()) break;
      if ((says_nothing(step.event) && !is_awaited(step)) || cannot_be_said(dialect, step.event)) continue;
      if (!read_state.changed_by(step.event, step.optional)) continue;
      if (match(step.event, BlockDelete(step)))
        follow(step.event);
      else
        parts.push_back({step.event, BlockDelete(step)});
    }
    input.release_before(read_offset);
    if (failure || !findings.has_errors()) return;
    auto const& all = findings.all();
    auto const error = std::find_if(all.begin(), all.end(), [](text::Finding const& finding) {
      return finding.severity == text::Severity::error;
    });
    if (error->line != 0) read_line = error->line;
    fail(queue.empty() ? 0 : queue.front().line,
         fmt::format("the output cannot be read under its dialect: {}", error->message));
  }

  /// Plain cuts that were read against plain cuts that were meant, as far as they agree one by one: what
  /// match() would do with each. False when there is none.
  bool match_cuts() {
    if (!queue.begins_with_cuts() || pieces || (ahead.size == 0 && !reader.next_stretch(ahead))) return false;
    Tolerances const& t = reader.modes().units == motion::Units::inch ? inch : millimetre;
    std::size_t const count = agreeing_cuts(queue.cuts(), ahead, t, result.largest_deviation);
    if (count == 0) return false;
    queue.pop_cuts(count);
    result.motions += count;
    position = ahead.point(count);
    take_read(count);
    return true;
  }

  bool read_step(motion::Step& step) {
    if (ahead.size == 0) return reader.next(step);
    step = ahead.step(0);
    take_read(1);
    return true;
  }

  void take_read(std::size_t count) {
    read_line = ahead.places()[count - 1].line;
    read_offset = ahead.places()[count - 1].offset;
    ahead = ahead.behind(count);
  }

  /// A move to where the output has led already, of which the meant side did not know that it stands there.
  bool is_awaited(motion::Step const& step) {
    if (motion::motion_of(step) == nullptr || pieces || queue.empty()) return false;
    Tolerances const& t = reader.modes().units == motion::Units::inch ? inch : millimetre;
    double ignored = 0;
    return queue.front().mark == BlockDelete(step) && agree(queue.front().event, step.event, t, ignored);
  }

  /// The output has led here.
  void follow(motion::Event const& event) {
    if (auto const* move = std::get_if<motion::Motion>(&event)) position = move->to;
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) rotation = turn->rotation;
  }

  /// False when more must be meant before the event can be judged.
  bool match(motion::Event const& event, BlockDelete const& mark) {
    Tolerances const& t = reader.modes().units == motion::Units::inch ? inch : millimetre;
    while (!failure) {
      if (queue.empty()) {
        if (on_demand) return false;
        fail(0, fmt::format("the output says more than was meant: {}", describe(event)));
        return true;
      }
      Expected const& head = queue.front();
      auto const* read = std::get_if<motion::Motion>(&event);
      if (pieces) {
        if (read == nullptr || !take_piece(*read, t)) differ(event, mark, t);
        return true;
      }
      if (head.mark == mark && agree(head.event, event, t, result.largest_deviation)) {
        if (read != nullptr) ++result.motions;
        queue.pop();
        return true;
      }
      if (head.mark == mark && read != nullptr && begins_pieces(head.event)) {
        if (take_piece(*read, t)) return true;
        pieces.reset();
      }
      bool const meant_cycle = std::holds_alternative<motion::Cycle>(head.event);
      bool const read_cycle = std::holds_alternative<motion::Cycle>(event);
      if (meant_cycle && !read_cycle) {
        expand_head();
      } else if (read_cycle && !meant_cycle) {
        std::vector<motion::Event> events;
        motion::expand(std::get<motion::Cycle>(event), rotation, events);
        for (motion::Event const& part : events)
          parts.push_back({part, mark});
        return true;
      } else if (may_be_left_out(head, t)) {
        queue.pop();
      } else {
        differ(event, mark, t);
      }
    }
    return true;
  }

  void expand_head() {
    Expected const cycle = queue.front();
    queue.pop();
    std::vector<motion::Event> events;
    motion::expand(std::get<motion::Cycle>(cycle.event), rotation, events);
    for (auto part = events.rbegin(); part != events.rend(); ++part) {
      if (!says_nothing(*part)) queue.push_front({*part, cycle.line, cycle.mark});
    }
  }

  /// A move so short that both its ends round to the same digits, or words that move nothing and that the
  /// dialect does not carry.
  bool may_be_left_out(Expected const& expected, Tolerances const& t) const {
    if (auto const* block = std::get_if<motion::Carried>(&expected.event)) return !block->motion_unknown;
    auto const* move = std::get_if<motion::Motion>(&expected.event);
    if (move == nullptr || move->rotary || !motion::is_known(move->from) || !motion::is_known(move->to))
      return false;
    if (!ends_agree(move->to, position, position, t.position)) return false;
    return Course(*move).length() <= 2 * t.course;
  }

  bool begins_pieces(motion::Event const& event) {
    auto const* arc = std::get_if<motion::Motion>(&event);
    if (arc == nullptr || !motion::is_arc(*arc) || !motion::is_known(arc->from) || !motion::is_known(arc->to))
      return false;
    pieces = Pieces{Course(*arc)};
    return true;
  }

  /// One chord or smaller arc of the meant arc at the head of the queue.
  bool take_piece(motion::Motion const& read, Tolerances const& t) {
    auto const& arc = std::get<motion::Motion>(queue.front().event);
    if (!motion::is_cutting(read) || read.compensated != arc.compensated || read.rotary != arc.rotary)
      return false;
    if (motion::is_arc(read) && (read.path != arc.path || read.plane != arc.plane)) return false;
    if (!motion::is_known(read.from) || !motion::is_known(read.to) || !feeds_agree(arc, read, t))
      return false;

    Course const& course = pieces->course;
    Course const piece(read);
    double const reach = std::min(1.0, pieces->done + piece.length() / course.length());
    double const end = course.nearest(read.to, reach);
    if (end < pieces->done) return false;
    int const samples = motion::is_arc(read) ? 8 : 4;
    double worst = 0;
    for (int i = 1; i <= samples; ++i) {
      double const share = static_cast<double>(i) / samples;
      Vec3 const point = piece.at(share);
      double const expected = pieces->done + share * (end - pieces->done);
      worst = std::max(worst, geometry::distance(point, course.at(course.nearest(point, expected))));
    }
    if (worst > (motion::is_arc(read) ? t.course * std::sqrt(2.0) : t.chord)) return false;
    result.largest_deviation = std::max(result.largest_deviation, worst);
    ++result.motions;
    pieces->done = end;
    bool const complete =
        (1 - end) * course.length() <= 4 * t.course && ends_agree(arc.to, read.from, read.to, t.position);
    if (complete) {
      pieces.reset();
      queue.pop();
    }
    return true;
  }

  void differ(motion::Event const& event, BlockDelete const& mark, Tolerances const& t) {
    Expected const head = queue.front();
    double unused = 0;
    for (std::size_t i = 1; i < look_ahead; ++i) {
      Expected const* const later = queue.look_ahead(i);
      if (later != nullptr && later->mark == mark && agree(later->event, event, t, unused)) {
        fail(head.line, fmt::format("missing from the output: {}", describe(head.event)));
        return;
      }
    }
    if (!(head.mark == mark) && agree(head.event, event, t, unused)) {
      fail(head.line, head.mark.optional == mark.optional
                          ? fmt::format("{}: its block delete is {}, not {}", describe(event), describe(mark),
                                        describe(head.mark))
                          : fmt::format("{}: the block-delete mark was {}", describe(event),
                                        mark.optional ? "added" : "lost"));
      return;
    }
    std::string what = fmt::format("meant: {}; the output says: {}", describe(head.event), describe(event));
    auto const* a = std::get_if<motion::Motion>(&head.event);
    auto const* b = std::get_if<motion::Motion>(&event);
    if (a != nullptr && b != nullptr && a->path == b->path && !pieces) {
      double const distance = apart(a->to, b->to);
      if (distance > t.position)
        what += fmt::format("; the end points are {} um apart", plain_number(distance * 1000, 3));
    }
    fail(head.line, std::move(what));
  }

  bool finish() {
    input.close();
    on_demand = false;
    pump();
    while (!failure && !pieces && !queue.empty() && may_be_left_out(queue.front(), millimetre))
      queue.pop();
    if (!failure && !queue.empty())
      fail(queue.front().line,
           fmt::format("missing at the end of the output: {}", describe(queue.front().event)));
    return !failure;
  }
};

ReadBack::ReadBack(dialect::Dialect const& dialect)
    : implementation_(std::make_unique<Implementation>(dialect, text::Input::pipe("output"))) {}

ReadBack::ReadBack(dialect::Dialect const& dialect, text::Input output)
    : implementation_(std::make_unique<Implementation>(dialect, std::move(output))) {}

ReadBack::~ReadBack() = default;

void ReadBack::meant(motion::Step const& step) {
  if (implementation_->failure) return;
  implementation_->expect(step);
  if (implementation_->on_demand) implementation_->pump();
}

void ReadBack::meant(motion::Stretch const& stretch) {
  if (implementation_->failure) return;
  implementation_->queue.push(stretch);
  if (implementation_->on_demand) implementation_->pump();
}

void ReadBack::written(std::string_view bytes) {
  if (implementation_->failure) return;
  implementation_->input.append(bytes);
  implementation_->pump();
}

bool ReadBack::finish() {
  return implementation_->finish();
}

ReadBackResult const& ReadBack::result() const {
  return implementation_->result;
}

std::optional<ReadBackFailure> const& ReadBack::failure() const {
  return implementation_->failure;
}

} // namespace restep::proof
