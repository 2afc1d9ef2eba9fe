#include "steps.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <numbers>
#include <rapidcheck.h>

using namespace restep;
using namespace restep::transform;
using namespace restep::transform::testing;
using motion::PathKind;
using motion::Rotation;

namespace {

double place() {
  return *rc::gen::inRange(-40, 41);
}

void random_arc(Program& program, double feed) {
  double const radius = *rc::gen::element(0.2, 1.5, 8.0, 30.0);
  double const start = *rc::gen::inRange(0, 360) * std::numbers::pi / 180;
  double const turn = *rc::gen::inRange(10, 350) * std::numbers::pi / 180;
  bool const ccw = *rc::gen::arbitrary<bool>();
  Vec3 const centre{program.at.x - radius * std::cos(start), program.at.y - radius * std::sin(start),
                    program.at.z};
  double const end = ccw ? start + turn : start - turn;
  double const fall = *rc::gen::element(0.0, 0.0, -0.5, 0.5);
  program.arc(ccw ? PathKind::arc_ccw : PathKind::arc_cw, motion::Plane::xy,
              {centre.x + radius * std::cos(end), centre.y + radius * std::sin(end), program.at.z + fall},
              centre, feed);
}

/// Tools, each with spindle, coolant, an approach from above, cuts with links between them, and a way out.
Program random_job() {
  Program program;
  int const tools = *rc::gen::inRange(1, 4);
  for (int tool = 1; tool <= tools; ++tool) {
    program.block({motion::ToolSelect{tool}, motion::ToolChange{tool}});
    program.at.z = motion::unknown;
    program.block({motion::SpindleSpeed{*rc::gen::inRange(500, 30000) + 0.0},
                   motion::SpindleTurn{Rotation::clockwise}});
    if (*rc::gen::arbitrary<bool>())
      program(motion::Coolant{*rc::gen::element(motion::CoolantKind::mist, motion::CoolantKind::flood)});
    program.rapid(place(), place(), nowhere).rapid_z(20);
    int const moves = *rc::gen::inRange(1, 15);
    for (int i = 0; i < moves; ++i) {
      double const feed = *rc::gen::inRange(50, 6000);
      switch (*rc::gen::inRange(0, 5)) {
      case 0: program.feed(nowhere, nowhere, *rc::gen::element(-3.0, -1.0, 0.0), feed); break;
      case 1: program.feed(place(), place(), nowhere, feed); break;
      case 2: program.feed(place(), place(), *rc::gen::element(-3.0, -1.0), feed); break;
      case 3: random_arc(program, feed); break;
      case 4: program.rapid(place(), place(), nowhere); break;
      }
    }
    program.rapid_z(20);
  }
  program(motion::Stop{motion::StopKind::end_rewind});
  return program;
}

void random_machine(Bench& bench) {
  motion::Machine& machine = bench.machine;
  auto const feed = [] { return *rc::gen::inRange(100, 5000) + 0.0; };
  machine.max_feed = {feed(), feed(), feed()};
  machine.max_plunge = *rc::gen::element(0.0, 80.0, 900.0);
  double const acceleration = *rc::gen::element(0.0, 60.0, 500.0);
  machine.acceleration = {acceleration, acceleration, acceleration};
  machine.spindle_max = *rc::gen::element(0.0, 6000.0, 24000.0);
  machine.mist = *rc::gen::arbitrary<bool>();
  machine.flood = *rc::gen::arbitrary<bool>();
  machine.spindle_start_seconds = 2;
  machine.spindle_dwell = *rc::gen::arbitrary<bool>();
  machine.retract = *rc::gen::element(motion::RetractPolicy::machine_top, motion::RetractPolicy::home,
                                      motion::RetractPolicy::clearance);
  machine.tool_change =
      *rc::gen::element(motion::ToolChangePolicy::automatic, motion::ToolChangePolicy::by_hand);
  bench.context.abilities.home = bench.context.abilities.home_all_axes = *rc::gen::arbitrary<bool>();
}

std::vector<Step> limited(std::vector<Step> const& steps, Context& context) {
  std::vector<Step> out = steps;
  for (Stage const& stage : stages())
    if (stage.name != "restep" && !stage.on_request) out = run(stage.make, out, context);
  return out;
}

/// What is wrong with a program for a machine, told by means of its own; empty when nothing is.
/// `lowest_rapid` is the height from which sideways rapids are safe.
class Inspector {
public:
  Inspector(motion::Machine const& machine, double lowest_rapid)
      : machine_(machine)
      , lowest_rapid_(lowest_rapid) {}

  std::string complaint(std::vector<Step> const& steps) {
    for (std::size_t i = 0; i < steps.size(); ++i)
      if (std::string const what = look(steps[i]); !what.empty())
        return what + " at step " + std::to_string(i);
    return {};
  }

private:
  motion::Machine const& machine_;
  double lowest_rapid_;
  bool turns_ = false, top_ = false;
  double waited_ = 0;

  std::string look(Step const& step) {
    motion::Event const& event = step.event;
    if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event))
      return machine_.spindle_max > 0 && speed->rpm > machine_.spindle_max ? "spindle too fast" : "";
    if (auto const* coolant = std::get_if<motion::Coolant>(&event))
      return (coolant->kind == motion::CoolantKind::mist && !machine_.mist) ||
                     (coolant->kind == motion::CoolantKind::flood && !machine_.flood)
                 ? "a coolant that the machine has not"
                 : "";
    if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) {
      bool const now = turn->rotation != Rotation::stop;
      if (now && !turns_) waited_ = 0;
      turns_ = now;
    } else if (std::holds_alternative<motion::ToolChange>(event)) {
      if (turns_) return "a tool change with a turning spindle";
    } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
      if (turns_) return "a stop with a turning spindle";
      if (stop->kind == motion::StopKind::program) top_ = false;
    } else if (auto const* dwell = std::get_if<motion::Dwell>(&event)) {
      waited_ += dwell->seconds;
    } else if (std::holds_alternative<motion::Home>(event) ||
               std::holds_alternative<motion::MachineMove>(event)) {
      top_ = true;
    } else if (auto const* move = motion_of(step)) {
      return is_cutting(*move) ? cut(*move) : rapid(*move);
    }
    return {};
  }

  std::string rapid(motion::Motion const& move) {
    bool const sideways = (motion::is_known(move.to.x) && !(move.to.x == move.from.x)) ||
                          (motion::is_known(move.to.y) && !(move.to.y == move.from.y));
    double const low = std::min(move.from.z, move.to.z);
    bool const high = motion::is_known(move.from.z) ? low >= lowest_rapid_ - 1e-9 : top_;
    if (motion::is_known(move.to.z) && !(move.to.z == move.from.z)) top_ = false;
    return sideways && !high ? "a sideways rapid that is too low" : "";
  }

  /// Along a chain of short chords: each axis's share of the feed, and v^2 / r from the turn between chords.
  std::string cut(motion::Motion const& move) {
    top_ = false;
    if (!turns_) return "a cut with a standing spindle";
    if (machine_.spindle_dwell && waited_ < machine_.spindle_start_seconds - 1e-9)
      return "a cut before the spindle is at speed";
    // A chord of the turn t is shorter than its arc by t^2 / 24, so the share of a helix's rise seems larger.
    constexpr int chords = 400;
    constexpr double chord_error = 2e-5; // t < 2 pi / 400
    Vec3 before = move.from;
    for (int i = 1; i <= chords; ++i) {
      Vec3 const point = at(move, static_cast<double>(i) / chords);
      Vec3 const way = point - before;
      double const length = std::sqrt(way.x * way.x + way.y * way.y + way.z * way.z);
      before = point;
      if (!(length > 0)) continue;
      for (int axis = 0; axis < 3; ++axis)
        if (machine_.max_feed[axis] > 0 &&
            move.feed * std::abs(way[axis]) / length > machine_.max_feed[axis] * (1 + chord_error))
          return "an axis that feeds too fast";
      if (machine_.max_plunge > 0 && move.feed * -way.z / length > machine_.max_plunge * (1 + chord_error))
        return "a plunge that is too fast";
    }
    if (is_arc(move) && machine_.acceleration.x > 0) {
      double const r = std::hypot(move.from.x - move.centre.x, move.from.y - move.centre.y);
      double const flat = std::hypot(turn_of(move) * r, move.to.z - move.from.z);
      double const speed = move.feed / 60 * turn_of(move) * r / flat;
      if (speed * speed / r > machine_.acceleration.x * (1 + 1e-6)) return "an arc that is too fast";
    }
    return {};
  }

  static double turn_of(motion::Motion const& move) {
    double const a = std::atan2(move.from.y - move.centre.y, move.from.x - move.centre.x);
    double const b = std::atan2(move.to.y - move.centre.y, move.to.x - move.centre.x);
    double turn = move.path == PathKind::arc_ccw ? b - a : a - b;
    while (turn <= 0)
      turn += 2 * std::numbers::pi;
    return turn;
  }

  static Vec3 at(motion::Motion const& move, double share) {
    Vec3 const straight = move.from + (move.to - move.from) * share;
    if (!is_arc(move)) return straight;
    double const a = std::atan2(move.from.y - move.centre.y, move.from.x - move.centre.x);
    double const r = std::hypot(move.from.x - move.centre.x, move.from.y - move.centre.y);
    double const angle = a + (move.path == PathKind::arc_ccw ? 1 : -1) * turn_of(move) * share;
    return {move.centre.x + r * std::cos(angle), move.centre.y + r * std::sin(angle), straight.z};
  }
};

double lowest_safe_rapid(std::vector<Step> const& steps, motion::Machine const& machine) {
  double highest = -1e9;
  for (Step const& step : steps)
    if (auto const* m = motion_of(step))
      if (is_cutting(*m) && (is_arc(*m) || m->from.x != m->to.x || m->from.y != m->to.y))
        highest = std::max(highest, std::min(m->from.z, m->to.z));
  return highest > -1e9 ? highest + machine.rapid_clearance : -1e9;
}

} // namespace

TEST_CASE("an inspector of its own finds nothing in a program that was brought inside a machine's limits",
          "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    auto const out = limited(in, bench.context);
    std::string const complaint =
        Inspector(bench.machine, lowest_safe_rapid(in, bench.machine)).complaint(out);
    RC_LOG(words(in) + "\n  " + words(out) + "\n  " + complaint);
    RC_ASSERT(complaint.empty());
    RC_ASSERT_FALSE(bench.findings.has_errors());
  }));
}

TEST_CASE("bringing a program inside a machine's limits twice changes nothing more", "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    bench.machine.tool_change = motion::ToolChangePolicy::automatic;
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    auto const once = limited(in, bench.context);
    auto const twice = limited(once, bench.context);
    RC_LOG(words(once) + "\n  " + words(twice));
    RC_ASSERT(same_stream(once, twice));
  }));
}

TEST_CASE("the inspector does find what is wrong", "[limits]") {
  motion::Machine machine;
  machine.max_feed = {900, 900, 500};
  machine.spindle_max = 6000;
  auto const complaint = [&](Program const& rest) {
    Program program;
    program(motion::SpindleTurn{Rotation::clockwise});
    program.steps.insert(program.steps.end(), rest.steps.begin(), rest.steps.end());
    return Inspector(machine, 1).complaint(program.steps);
  };
  Program fast, low, sound, speed;
  fast.at = low.at = sound.at = {0, 0, -1};
  CHECK(complaint(fast.feed(9, 0, -1, 950)) == "an axis that feeds too fast at step 1");
  CHECK(complaint(low.rapid(9, 0, -1)) == "a sideways rapid that is too low at step 1");
  CHECK(complaint(speed(motion::SpindleSpeed{7000})) == "spindle too fast at step 1");
  CHECK(complaint(sound.feed(9, 0, -1, 900)).empty());
}
