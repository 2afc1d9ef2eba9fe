#include "program.hpp"

#include "motion/arc.hpp"
#include "motion/cycle.hpp"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::dialect_test {

using motion::Motion;
using motion::Step;
using motion::Vec3;

dialect::Dialect shipped(std::string const& name) {
  auto loaded = dialect::load_dialect(std::string(RESTEP_SOURCE_DIR "/profiles/dialects/") + name + ".toml");
  if (!loaded) FAIL(format(loaded.error()));
  return *loaded;
}

std::string Written::first(text::Severity severity) const {
  for (auto const& finding : findings)
    if (finding.severity == severity) return finding.code;
  return {};
}

std::string Written::errors() const {
  std::string all;
  for (auto const& finding : findings)
    if (finding.severity == text::Severity::error) all += text::format(finding, "program");
  return all;
}

namespace {

void take(Written& written, text::Findings const& findings, dialect::BlockWriter const& writer) {
  written.findings = findings.all();
  written.count = writer.count();
}

} // namespace

Written rewrite(std::string_view program, dialect::Dialect const& from, dialect::Dialect const& to,
                Stage const& stage) {
  Written written;
  text::Findings findings;
  auto input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, from.read, findings);
  dialect::BlockWriter writer(to, input, [&](std::string_view text) { written.text += text; }, findings,
                              {.verbatim = from.name == to.name});
  Step step;
  while (reader.next(step))
    if (!stage || stage(step, [&](Step const& added) { writer.write(added); })) writer.write(step);
  writer.finish();
  take(written, findings, writer);
  return written;
}

Written rewrite(std::string_view program, Stage const& stage) {
  auto const dialect = shipped("rs274ngc");
  return rewrite(program, dialect, dialect, stage);
}

Written write_afresh(std::string_view program, dialect::Dialect const& dialect) {
  return rewrite(program, dialect, dialect, [](Step& step, auto const&) {
    step.touched = true;
    return true;
  });
}

Written write_steps(std::vector<Step> const& steps, dialect::Dialect const& dialect) {
  Written written;
  text::Findings findings;
  auto input = text::Input::from_memory("");
  dialect::BlockWriter writer(dialect, input, [&](std::string_view text) { written.text += text; }, findings,
                              {.verbatim = false});
  for (auto const& step : steps)
    writer.write(step);
  writer.finish();
  take(written, findings, writer);
  return written;
}

Step generated(motion::Event event) {
  Step step;
  step.event = std::move(event);
  step.generated = true;
  return step;
}

std::vector<Step> read(std::string_view program, dialect::Dialect const& dialect) {
  text::Findings findings;
  auto input = text::Input::from_memory(program);
  interpret::ProgramReader reader(input, dialect.read, findings);
  std::vector<Step> steps;
  Step step;
  while (reader.next(step))
    steps.push_back(step);
  for (auto const& finding : findings.all())
    if (finding.severity == text::Severity::error) FAIL(program << text::format(finding, "program"));
  return steps;
}

namespace {

/// The second half of an arc that was written in two.
bool goes_on(Motion const& a, Motion const& b) {
  if (!motion::is_arc(a) || a.path != b.path || a.plane != b.plane || a.feed_mode != b.feed_mode)
    return false;
  auto const axes = motion::axes_of(a.plane);
  return std::hypot(a.centre[axes.first] - b.centre[axes.first],
                    a.centre[axes.second] - b.centre[axes.second]) < 1e-2 &&
         motion::sweep(a) + motion::sweep(b) < 2 * std::numbers::pi + 1e-3;
}

} // namespace

std::vector<Motion> course(std::string_view program, dialect::Dialect const& dialect, double least) {
  std::vector<Motion> motions;
  auto const add = [&](Motion const& m) {
    double const length = motion::length(m);
    if (length <= least) return;
    if (!motions.empty() && goes_on(motions.back(), m)) {
      motions.back().to = m.to;
    } else {
      motions.push_back(m);
    }
  };
  for (auto const& step : read(program, dialect)) {
    if (auto const* m = motion::motion_of(step)) add(*m);
    if (auto const* c = std::get_if<motion::Cycle>(&step.event))
      for (auto const& event : motion::expand(*c))
        if (auto const* part = std::get_if<Motion>(&event)) add(*part);
  }
  return motions;
}

std::string difference(std::vector<Motion> const& meant, std::vector<Motion> const& written,
                       double tolerance) {
  auto const apart = [&](Vec3 const& a, Vec3 const& b) {
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(a[axis]) && motion::is_known(b[axis]) && std::abs(a[axis] - b[axis]) > tolerance)
        return true;
    return false;
  };
  for (std::size_t i = 0; i < std::min(meant.size(), written.size()); ++i) {
    Motion const& a = meant[i];
    Motion const& b = written[i];
    auto const say = [&](std::string_view what) {
      return fmt::format("motion {}: {} (G{} to {} {} {} / G{} to {} {} {})", i, what,
                         static_cast<int>(a.path), a.to.x, a.to.y, a.to.z, static_cast<int>(b.path), b.to.x,
                         b.to.y, b.to.z);
    };
    if (a.path != b.path) return say("another kind");
    if (apart(a.to, b.to)) return say("another end");
    if (a.path != motion::PathKind::rapid &&
        (a.feed_mode != b.feed_mode || std::abs(a.feed - b.feed) > 0.00051 * 25.4))
      return say(fmt::format("another feed, {} and {}", a.feed, b.feed));
    if (!motion::is_arc(a)) continue;
    if (a.plane != b.plane) return say("another plane");
    auto const axes = motion::axes_of(a.plane);
    for (int const axis : {axes.first, axes.second})
      if (std::abs(a.centre[axis] - b.centre[axis]) > 4 * tolerance + 1e-6) return say("another centre");
    if (std::abs(motion::sweep(a) - motion::sweep(b)) > 0.8) return say("another angle");
  }
  if (meant.size() != written.size())
    return fmt::format("{} motions meant, {} written", meant.size(), written.size());
  return {};
}

namespace {

/// Makes blocks one after another and remembers where the tool is, as a CAM package would.
class Maker {
public:
  Maker(std::mt19937& random, ProgramShape const& shape)
      : random_(random)
      , shape_(shape)
      , lengths_(shape.inch ? 2.0 : 40.0) {}

  std::string make() {
    line("%");
    line("(striker cam, op 1)");
    line(shape_.inch ? "G20 G90 G17 G94" : "G21 G90 G17 G94");
    line("T3 M6 (bull nose)");
    line("S9000 M3");
    line("G54");
    line(fmt::format("G0 X{} Y{}", at(0, length()), at(1, length())));
    line(fmt::format("Z{}", at(2, 5)));
    line(fmt::format("G1 Z{} F{}", at(2, -1), feed()));
    for (int i = 0; i < shape_.blocks; ++i)
      block();
    line("G90 G0 Z30");
    line("M5");
    line("M30");
    line("%");
    return text_;
  }

private:
  std::mt19937& random_;
  ProgramShape shape_;
  double lengths_;
  std::string text_;
  double position_[3] = {0, 0, 0};
  int number_ = 10;

  int dice(int sides) { return std::uniform_int_distribution<int>(0, sides - 1)(random_); }
  double length() { return std::uniform_real_distribution<double>(-lengths_, lengths_)(random_); }
  int feed() { return 100 + 10 * dice(50); }

  std::string number(double value) {
    std::string text = fmt::format("{:.{}f}", value, shape_.decimals);
    if (dice(2) == 0 && text.find('.') != std::string::npos) {
      while (text.back() == '0')
        text.pop_back();
    }
    return text == "-0." || text == "-0" ? "0" : text;
  }
  std::string at(int axis, double value) {
    auto text = number(value);
    position_[axis] = std::stod(text);
    return text;
  }
  void line(std::string const& words) {
    if (shape_.line_numbers && words != "%") text_ += fmt::format("N{} ", number_ += 5);
    text_ += words + "\n";
  }

  void block() {
    switch (dice(12)) {
    case 0: line(fmt::format("(level {})", dice(99))); break;
    case 1: line(dice(2) == 0 ? "" : "M8"); break;
    case 2: line(fmt::format("G0 Z{}", at(2, 5))); break;
    case 3: line(fmt::format("G1 X{} F{}", at(0, length()), feed())); break;
    case 4:
      if (shape_.cycles) holes();
      break;
    case 5:
      if (shape_.incremental) steps();
      break;
    case 6:
      if (shape_.inverse_time)
        line(fmt::format("G93 G1 X{} F{}", at(0, length()), 1 + dice(9))), line("G94 F150");
      break;
    case 7:
    case 8:
      if (shape_.arcs) arc();
      break;
    default: line(fmt::format("G1 X{} Y{} Z{} F200", at(0, length()), at(1, length()), at(2, length() / 20)));
    }
  }

  void holes() {
    double const bottom = -3 - dice(3);
    double const retract = 1 + dice(2);
    bool const deep = dice(2) == 0;
    line(fmt::format("{} G{} X{} Y{} Z{} R{} F80{}", dice(2) == 0 ? "G98" : "G99", deep ? 83 : 81,
                     at(0, length()), at(1, length()), number(bottom), number(retract), deep ? " Q1.5" : ""));
    for (int i = dice(4); i > 0; --i)
      line(fmt::format("X{}", at(0, length())));
    line("G80");
    line(fmt::format("G0 Z{}", at(2, 10)));
  }

  void steps() {
    line("G91");
    for (int i = 1 + dice(4); i > 0; --i) {
      auto const dx = number(length() / 10);
      auto const dy = number(length() / 10);
      line(fmt::format("G1 X{} Y{} F220", dx, dy));
      position_[0] += std::stod(dx);
      position_[1] += std::stod(dy);
    }
    line("G90");
  }

  void arc() {
    int const plane = shape_.other_planes ? dice(3) : 0;
    int const first = plane == 0 ? 0 : plane == 1 ? 2 : 1;
    int const second = plane == 0 ? 1 : plane == 1 ? 0 : 2;
    double const radius = lengths_ / 20 * (1 + dice(20));
    double const begin = std::uniform_real_distribution<double>(0, 2 * std::numbers::pi)(random_);
    bool const full = shape_.full_circles && dice(6) == 0;
    double const turn = full ? 0 : std::uniform_real_distribution<double>(0.02, 6.2)(random_);
    bool const left = dice(2) == 0;
    double const i = -radius * std::cos(begin);
    double const j = -radius * std::sin(begin);
    auto const i_text = number(i), j_text = number(j);
    double const end = left ? begin + turn : begin - turn;
    double const to_first = position_[first] + std::stod(i_text) + radius * std::cos(end);
    double const to_second = position_[second] + std::stod(j_text) + radius * std::sin(end);
    constexpr char axes[] = "XYZ", centres[] = "IJK";
    auto const a = full ? fmt::format("{:.6f}", position_[first]) : at(first, to_first);
    auto const b = full ? fmt::format("{:.6f}", position_[second]) : at(second, to_second);
    line(fmt::format("G{} G{} {}{} {}{} {}{} {}{} F300", 17 + plane, left ? 3 : 2, axes[first], a,
                     axes[second], b, centres[first], i_text, centres[second], j_text));
    if (plane != 0) line("G17");
  }
};

} // namespace

std::string random_program(std::mt19937& random, ProgramShape const& shape) {
  return Maker(random, shape).make();
}

} // namespace restep::dialect_test
