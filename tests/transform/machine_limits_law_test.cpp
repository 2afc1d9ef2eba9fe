#include "steps.hpp"

#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <map>
#include <numbers>
#include <optional>
#include <rapidcheck.h>
#include <vector>

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

/// A square cut in lines and a low rapid inside it or out of it.
void pocket(Program& program, double feed) {
  double const x = program.at.x, y = program.at.y;
  program.feed(nowhere, nowhere, -3, feed);
  for (int line = 0; line <= 10; ++line)
    program.feed(line % 2 == 0 ? x + 20 : x, y + 2 * line, nowhere, feed)
        .feed(nowhere, y + 2 * line + 2, nowhere, feed);
  program.feed(x + 10, y + 10, nowhere, feed).rapid_z(-2.5);
  double const far = *rc::gen::element(1, 3, 6, 15);
  program.rapid(x + 10 + far, y + 10 - far, nowhere);
}

/// Tools, each with spindle, coolant, an approach from above, cuts with links between them, and a way out.
Program random_job() {
  Program program;
  bool const lengths = *rc::gen::arbitrary<bool>();
  int const tools = *rc::gen::inRange(1, 4);
  for (int tool = 1; tool <= tools; ++tool) {
    program.block({motion::ToolSelect{tool}, motion::ToolChange{tool}});
    program.at.z = motion::unknown;
    if (lengths) program(motion::LengthOffset{true, tool});
    program.block({motion::SpindleSpeed{*rc::gen::inRange(500, 30000) + 0.0},
                   motion::SpindleTurn{Rotation::clockwise}});
    if (*rc::gen::arbitrary<bool>())
      program(motion::Coolant{*rc::gen::element(motion::CoolantKind::mist, motion::CoolantKind::flood)});
    program.rapid(place(), place(), nowhere).rapid_z(20);
    int const moves = *rc::gen::inRange(1, 15);
    for (int i = 0; i < moves; ++i) {
      double const feed = *rc::gen::inRange(50, 6000);
      switch (*rc::gen::inRange(0, 7)) {
      case 0: program.feed(nowhere, nowhere, *rc::gen::element(-3.0, -1.0, 0.0), feed); break;
      case 1: program.feed(place(), place(), nowhere, feed); break;
      case 2: program.feed(place(), place(), *rc::gen::element(-3.0, -1.0), feed); break;
      case 3: random_arc(program, feed); break;
      case 4: program.rapid(place(), place(), nowhere); break;
      case 5: pocket(program, feed); break;
      case 6:
        program.rapid_z(20).rapid(place(), place(), nowhere).rapid_z(*rc::gen::element(-2.0, 4.0));
        break;
      }
    }
    program.rapid_z(20);
  }
  program(motion::Stop{motion::StopKind::end_rewind});
  return program;
}

constexpr std::array<char const*, 3> tool_texts{"flat 6", "flat 12", "flat 3"};

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
  machine.straight_rapids = *rc::gen::arbitrary<bool>();
  bench.context.abilities.home = bench.context.abilities.home_all_axes = *rc::gen::arbitrary<bool>();
  for (int number = 1; number <= 3; ++number) {
    if (*rc::gen::inRange(0, 4) == 0) continue; // not in the table
    cutter::Tool tool = cutter::parse_tool(tool_texts[static_cast<std::size_t>(number - 1)]).value();
    tool.number = number;
    bench.tools.add(tool);
  }
}

/// What the job may say besides: a block of stock, other tool numbers on the machine, and a plate on which
/// tools that are changed by hand are measured.
void random_setting(Bench& bench) {
  if (*rc::gen::arbitrary<bool>())
    bench.context.setting.stock = Block{{-50, -45, -20}, {50, 45, *rc::gen::element(0.0, 2.0, 12.0)}};
  if (*rc::gen::arbitrary<bool>())
    bench.context.setting.tool_numbers =
        *rc::gen::element(std::map<int, int>{{1, 11}, {2, 12}, {3, 13}},
                          std::map<int, int>{{1, 2}, {2, 3}, {3, 1}}, std::map<int, int>{{2, 7}});
  if (bench.machine.tool_change != motion::ToolChangePolicy::by_hand || *rc::gen::arbitrary<bool>()) return;
  bench.machine.touch_off = motion::TouchOffPolicy::plate;
  bench.machine.plate = {.thickness = 12,
                         .face = *rc::gen::element(-3.0, 0.0, 2.0),
                         .search = 40,
                         .back_off = 2,
                         .feed = 100,
                         .slow_feed = 20,
                         .stores = *rc::gen::arbitrary<bool>()};
  bench.context.abilities.touch_off_by_plate = true;
  bench.context.abilities.length_offset = false;
}

/// Points of the material, a millimetre apart, by means of their own: a point is gone when the tool's disc
/// stood over it at some place on the way of a cut, lower than it. Made for flat tools.
class Points {
public:
  Points() { heights_.fill(100); }

  /// Only what stands in a block of stock, a point's distance away from its sides.
  explicit Points(Block const& stock) {
    heights_.fill(-1e9);
    for (int x = -half; x <= half; ++x)
      for (int y = -half; y <= half; ++y)
        if (x >= stock.low.x + 1 && x <= stock.high.x - 1 && y >= stock.low.y + 1 && y <= stock.high.y - 1)
          heights_[static_cast<std::size_t>((x + half) * (2 * half + 1) + y + half)] = stock.high.z;
  }

  /// A point in the middle of the tool stands higher than its tip.
  bool stands_under(Vec3 tip, double radius) {
    bool stands = false;
    around(tip, radius / 4, [&](double& height) { stands = stands || height > tip.z + 0.1 + 1e-6; });
    return stands;
  }

  void cut(motion::Motion const& move, double radius) {
    double const length = motion::length(move);
    int const places = 1 + static_cast<int>(length / 0.2);
    for (int i = 0; i <= places; ++i) {
      Vec3 const tip = motion::point_at(move, static_cast<double>(i) / places);
      around(tip, radius, [&](double& height) { height = std::min(height, tip.z); });
    }
  }

  /// The way of a rapid meets a point that stands.
  bool meets(motion::Motion const& move, double radius) {
    double const length = motion::length(move);
    int const places = 1 + static_cast<int>(length / 0.2);
    bool met = false;
    for (int i = 0; i <= places; ++i) {
      Vec3 const tip = motion::point_at(move, static_cast<double>(i) / places);
      around(tip, radius, [&](double& height) { met = met || height > tip.z; });
    }
    return met;
  }

private:
  static constexpr int half = 110;
  std::array<double, (2 * half + 1) * (2 * half + 1)> heights_;

  template <class Do>
  void around(Vec3 tip, double radius, Do const& act) {
    for (int x = static_cast<int>(std::ceil(tip.x - radius)); x <= tip.x + radius; ++x)
      for (int y = static_cast<int>(std::ceil(tip.y - radius)); y <= tip.y + radius; ++y)
        if (std::abs(x) <= half && std::abs(y) <= half && std::hypot(x - tip.x, y - tip.y) <= radius)
          act(heights_[static_cast<std::size_t>((x + half) * (2 * half + 1) + y + half)]);
  }
};

std::vector<Step> limited(std::vector<Step> const& steps, Context& context) {
  std::vector<Step> out = steps;
  for (Stage const& stage : stages())
    if (stage.name != "restep" && !stage.on_request) out = run(stage.make, out, context);
  return out;
}

/// What is wrong with a program for a machine, told by means of its own; empty when nothing is.
/// `lowest_rapid` is the height from which sideways rapids are safe. The tools of the program are 1, 2, 3 in
/// this order.
class Inspector {
public:
  Inspector(motion::Machine const& machine, double lowest_rapid, cutter::ToolTable const* tools = nullptr,
            PartSetting const* setting = nullptr)
      : machine_(machine)
      , tools_(tools)
      , lowest_rapid_(lowest_rapid) {
    if (setting != nullptr && setting->stock) in_block_.emplace(*setting->stock);
    if (setting != nullptr) numbers_ = setting->tool_numbers;
  }

  std::string complaint(std::vector<Step> const& steps) {
    for (std::size_t i = 0; i < steps.size(); ++i)
      if (std::string const what = look(steps[i]); !what.empty())
        return what + " at step " + std::to_string(i);
    return {};
  }

private:
  motion::Machine const& machine_;
  cutter::ToolTable const* tools_;
  int asked_for_ = 0;
  double lowest_rapid_;
  bool turns_ = false, top_ = false;
  double waited_ = 0;
  Points points_;
  std::optional<Points> in_block_; ///< what certainly stands of the job's stock
  std::map<int, int> numbers_;     ///< the program's tool number to the machine's
  int number_ = 0;                 ///< of the tool in the spindle, the program's
  int changes_ = 0;
  double radius_ = 0; ///< of the tool; 0 when it is not known

  // The plate. An offset of Z: what the control calls the height where the tool stands.
  bool measured_ = false;
  int probings_ = 0;
  double probing_feed_ = 0;

  int on_machine(int number) const {
    auto const found = numbers_.find(number);
    return found == numbers_.end() ? number : found->second;
  }
  bool by_plate() const { return machine_.touch_off == motion::TouchOffPolicy::plate; }

  std::string touch(double from, double to, double feed) {
    if (turns_) return "a turning tool on the plate";
    motion::ContactPlate const& plate = machine_.plate;
    ++probings_;
    if (probings_ == 1 && !(from - to <= plate.search)) return "a search that is too long";
    if (probings_ == 2 && (!(from - to <= 2 * plate.back_off) || !(feed < probing_feed_)))
      return "a second probing that is not short and slow";
    if (probings_ > 2) return "a third probing";
    probing_feed_ = feed;
    return {};
  }

  void call_height(double z) {
    if (probings_ == 2 && z == machine_.plate.face + machine_.plate.thickness) measured_ = true;
  }

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
      if (std::get<motion::ToolChange>(event).tool != on_machine(++changes_)) return "another tool";
      take_tool(changes_);
    } else if (auto const* select = std::get_if<motion::ToolSelect>(&event)) {
      if (select->tool != on_machine(changes_ + 1)) return "another tool is selected";
    } else if (auto const* length = std::get_if<motion::LengthOffset>(&event)) {
      if (by_plate()) return "a length from a table for a tool that is measured";
      if (length->active && length->index != on_machine(number_)) return "the length of another tool";
    } else if (auto const* probe = std::get_if<motion::Probe>(&event)) {
      if (!by_plate()) return "a probing that nobody asked for";
      return touch(probe->from.z, probe->to.z, probe->feed);
    } else if (auto const* shift = std::get_if<motion::OffsetChange>(&event)) {
      call_height(shift->values.z);
    } else if (auto const* origin = std::get_if<motion::SetOrigin>(&event)) {
      call_height(origin->origin.z);
    } else if (auto const* stop = std::get_if<motion::Stop>(&event)) {
      if (turns_) return "a stop with a turning spindle";
      // At the stop behind the plate the operator is asked to move nothing.
      if (stop->kind == motion::StopKind::program && !measured_) top_ = false;
      if (stop->kind == motion::StopKind::program) take_tool(asked_for_);
    } else if (auto const* comment = std::get_if<motion::Comment>(&event)) {
      constexpr std::string_view insert = "insert T"; // by hand
      if (comment->text.starts_with(insert)) {
        asked_for_ = comment->text[insert.size()] - '0';
        if (asked_for_ != ++changes_) return "the operator is asked for another tool";
        measured_ = false;
        probings_ = 0;
      }
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

  /// The tools of random_machine, as far as they are in the table.
  void take_tool(int number) {
    number_ = number;
    cutter::Tool const* tool = tools_ ? tools_->find(number) : nullptr;
    radius_ = tool ? tool->radius() : 0;
  }

  std::string rapid(motion::Motion const& move) {
    bool const sideways = (motion::is_known(move.to.x) && !(move.to.x == move.from.x)) ||
                          (motion::is_known(move.to.y) && !(move.to.y == move.from.y));
    double const low = std::min(move.from.z, move.to.z);
    // Where nothing is cut no height is safer than another.
    bool const high = lowest_rapid_ <= -1e9           ? true
                      : motion::is_known(move.from.z) ? low >= lowest_rapid_ - 1e-9
                                                      : top_;
    if (motion::is_known(move.to.z) && !(move.to.z == move.from.z)) top_ = false;
    bool const lower = !(move.to.z >= move.from.z);
    if (in_block_ && radius_ > 0 && motion::is_known(move.to) && (sideways || lower) &&
        in_block_->stands_under(move.to, radius_))
      return "a rapid into the stock";
    if (!sideways || high) return "";
    if (!move.clear) return "a sideways rapid that is too low";
    if (radius_ == 0) return "a low rapid of a tool that nobody knows";
    return points_.meets(move, radius_) ? "a low rapid through material" : "";
  }

  /// Along a chain of short chords: each axis's share of the feed, and v^2 / r from the turn between chords.
  std::string cut(motion::Motion const& move) {
    top_ = false;
    if (radius_ > 0) points_.cut(move, radius_);
    if (radius_ > 0 && in_block_) in_block_->cut(move, radius_);
    if (by_plate() && !measured_) return "a cut with a tool that nobody measured";
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

double lowest_safe_rapid(std::vector<Step> const& steps, motion::Machine const& machine,
                         std::optional<Block> const& stock = {}) {
  if (stock) return stock->high.z + machine.rapid_clearance;
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
    random_setting(bench);
    PartSetting const& setting = bench.context.setting;
    auto const in = random_job().steps;
    for (Step const& step : in)
      bench.survey.add(step);
    auto const out = limited(in, bench.context);
    std::string const complaint =
        Inspector(bench.machine, lowest_safe_rapid(in, bench.machine, setting.stock), &bench.tools, &setting)
            .complaint(out);
    RC_LOG(words(in) + "\n  " + words(out) + "\n  " + complaint);
    RC_ASSERT(complaint.empty());
    RC_ASSERT_FALSE(bench.findings.has_errors());
  }));
}

TEST_CASE("bringing a program inside a machine's limits twice changes nothing more", "[limits][law]") {
  CHECK(rc::check([] {
    Bench bench;
    random_machine(bench);
    random_setting(bench);
    // Asked twice for a tool the operator is asked twice, and a number that was mapped may be mapped again.
    bench.machine.tool_change = motion::ToolChangePolicy::automatic;
    bench.machine.touch_off = motion::TouchOffPolicy::by_operator;
    bench.context.abilities.touch_off_by_plate = false;
    bench.context.abilities.length_offset = true;
    bench.context.setting.tool_numbers.clear();
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

  // Stock that a rapid goes down into, a tool that nobody measured, another tool's number.
  PartSetting setting;
  setting.stock = Block{{-50, -50, -20}, {50, 50, 2}};
  setting.tool_numbers = {{1, 2}};
  cutter::ToolTable tools;
  tools.add(cutter::parse_tool("flat 6").value());
  cutter::Tool numbered = tools.all().front();
  numbered.number = 1;
  tools.add(numbered);
  auto const in_setting = [&](Program const& program) {
    return Inspector(machine, 3, &tools, &setting).complaint(program.steps);
  };
  Program other, into, beside, unmeasured;
  CHECK(in_setting(other(motion::ToolChange{1})) == "another tool at step 0");
  into.at = {0, 0, 20};
  CHECK(in_setting(into(motion::ToolChange{2}).rapid_z(1)) == "a rapid into the stock at step 1");
  beside.at = {70, 0, 20};
  CHECK(in_setting(beside(motion::ToolChange{2}).rapid_z(1)).empty());
  machine.touch_off = motion::TouchOffPolicy::plate;
  unmeasured.at = {0, 0, 1};
  unmeasured(motion::Comment{"insert T1", true})(motion::Stop{motion::StopKind::program});
  unmeasured(motion::SpindleTurn{Rotation::clockwise}).feed(9, 0, nowhere, 100);
  CHECK(in_setting(unmeasured) == "a cut with a tool that nobody measured at step 3");
}
