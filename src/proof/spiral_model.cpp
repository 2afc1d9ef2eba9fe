#include "proof/spiral_model.hpp"

#include "cutter/cusp.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace restep::proof {

namespace {

using finish::Segment;
using geometry::Vec2;
using geometry::Vec3;

constexpr std::size_t sections_round = 160;

// A vertical plane normal to the contour: where it stands, the way to the air and the way of the course.
struct Section {
  Vec2 at{}, away{}, course{};
  struct Tip {
    Vec2 tip{}; ///< (d, z)
    std::uint32_t line = 0;
  };
  std::vector<Tip> tips{};
};

class SpiralModel {
public:
  SpiralModel(std::span<motion::Step const> steps, SpiralSurface const& surface)
      : steps_(steps)
      , surface_(surface)
      , side_(surface.away == 0 ? 1 : surface.away) {}

  tl::expected<SpiralMeasure, std::string> run() {
    set_up_sections();
    motion::Motion const* last = nullptr;
    for (motion::Step const& step : steps_) {
      motion::Motion const* m = motion::motion_of(step);
      if (m == nullptr) continue;
      if (last != nullptr && distance(last->to, m->from) > 1e-9)
        return tl::unexpected(fmt::format("there is a gap in its path at X{:.3f} Y{:.3f} Z{:.3f}", m->from.x,
                                          m->from.y, m->from.z));
      // Straight up the tool comes to nothing that it has not cut.
      if (m->to.z > m->from.z + 1e-6 && geometry::xy(m->to) != geometry::xy(m->from))
        return tl::unexpected(fmt::format("its path rises at X{:.3f} Y{:.3f}", m->from.x, m->from.y));
      if (last == nullptr) measure_point(m->from, step.place.line);
      measure_point(m->to, step.place.line);
      for (Section& section : sections_)
        cross(*m, section, step.place.line);
      last = m;
    }
    if (std::string trouble = count_turns(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    for (Section const& section : sections_)
      measure_section(section);
    return measure_;
  }

private:
  void set_up_sections() {
    double whole = 0;
    for (Segment const& s : surface_.loop)
      whole += s.length();
    double const apart = whole / sections_round;
    // Not on the middles of elements, where the chords of a round have their joints.
    double next = 0.437 * apart;
    double begin = 0;
    for (Segment const& s : surface_.loop) {
      double const length = s.length();
      while (next < begin + length) {
        double const share = (next - begin) / length;
        Vec2 const course = s.direction_at_share(share);
        sections_.push_back({s.point_at(share), side_ * left_normal(course), course, {}});
        next += apart;
      }
      begin += length;
    }
    measure_.sections = sections_.size();
  }

  // Where a motion crosses a section on its way round.
  void cross(motion::Motion const& m, Section& section, std::uint32_t line) const {
    Vec2 const from = geometry::xy(m.from);
    Vec2 const to = geometry::xy(m.to);
    if (!motion::is_arc(m)) {
      double const before = dot(section.course, from - section.at);
      double const behind = dot(section.course, to - section.at);
      if (!(before < 0 && behind >= 0)) return;
      double const share = before / (before - behind);
      keep(section, from + share * (to - from), m.from.z + share * (m.to.z - m.from.z), line);
      return;
    }
    Vec2 const centre = geometry::xy(m.centre);
    double const start_radius = distance(from, centre);
    double const end_radius = distance(to, centre);
    double const sweep = motion::sweep(m);
    double const sense = m.path == motion::PathKind::arc_ccw ? 1 : -1;
    double const along = dot(centre - section.at, section.away);
    double const radius = 0.5 * (start_radius + end_radius);
    double const apart = dot(centre - section.at, section.course);
    double const half2 = radius * radius - apart * apart;
    if (half2 < 0) return;
    for (double const d : {along - std::sqrt(half2), along + std::sqrt(half2)}) {
      Vec2 const arm = section.at + d * section.away - centre;
      Vec2 const travel = sense * left_normal(arm);
      if (dot(travel, section.course) <= 0) continue;
      double angle = sense * std::atan2(geometry::cross(from - centre, arm), dot(from - centre, arm));
      if (angle < 0) angle += 2 * std::numbers::pi;
      double const share = angle / sweep;
      if (share >= 1) continue;
      double const r = start_radius + share * (end_radius - start_radius);
      keep(section, centre + r * normalized(arm), m.from.z + share * (m.to.z - m.from.z), line);
    }
  }

  void keep(Section& section, Vec2 p, double z, std::uint32_t line) const {
    double const d = dot(p - section.at, section.away);
    // Other parts of the contour that the plane also meets lie farther off.
    if (std::abs(d - offset_at_height(z)) > 0.5 * surface_.tool.diameter) return;
    section.tips.push_back({{d, z}, line});
  }

  double offset_at_height(double z) const {
    double low = 0;
    double high = surface_.meridian.length();
    for (int round = 0; round < 40; ++round) {
      double const middle = 0.5 * (low + high);
      (surface_.meridian.at(middle).y > z ? low : high) = middle;
    }
    return surface_.meridian.at(0.5 * (low + high)).x;
  }

  // As many turns in every section; one more where the spiral begins before the place where it ends.
  std::string count_turns() {
    std::size_t fewest = std::numeric_limits<std::size_t>::max();
    for (Section const& s : sections_) {
      fewest = std::min(fewest, s.tips.size());
      measure_.turns = std::max(measure_.turns, s.tips.size());
    }
    if (fewest == 0 || measure_.turns > fewest + 1)
      return fmt::format("it makes {} turns at one place of its contour and {} at another", measure_.turns,
                         fewest);
    return {};
  }

  // Turns whose place another turn has cut already leave no mark: the last falling turn runs together with
  // the closing one, and its chords may lie a little deeper. What remains are the turns that the surface
  // keeps a mark of, and between each two of them one cusp.
  void measure_section(Section const& section) {
    std::vector<Section::Tip> marks;
    for (Section::Tip const& next : section.tips) {
      double const off = surface_.meridian.signed_distance(next.tip);
      proof::keep(measure_.chord_gouge, below(off), place(section, next.tip), next.line);
      measure_.stands_off = std::max(measure_.stands_off, std::abs(off));
      bool leaves_mark = true;
      while (!marks.empty()) {
        Hidden const hidden = hidden_of(marks.back().tip, next.tip);
        leaves_mark = hidden != Hidden::lower;
        if (hidden != Hidden::upper) break;
        marks.pop_back();
      }
      if (leaves_mark) marks.push_back(next);
    }
    for (std::size_t k = 1; k < marks.size(); ++k) {
      Vec2 const upper = marks[k - 1].tip;
      Vec2 const lower = marks[k].tip;
      Vec3 const at = place(section, lower);
      proof::keep(measure_.peak, cutter::cusp_height(surface_.tool, surface_.meridian, upper, lower), at,
                  marks[k].line);
      proof::keep(measure_.cusp, cutter::cusp_peak_to_valley(surface_.tool, surface_.meridian, upper, lower),
                  at, marks[k].line);
    }
  }

  // Which of two turns has been cut away by the other at its own place: the cusp between them then does not
  // stand between their places on the surface.
  enum class Hidden : unsigned char { none, upper, lower };
  Hidden hidden_of(Vec2 upper, Vec2 lower) const {
    double const r = surface_.tool.corner_radius;
    Vec2 const to_centre{0, r};
    auto const cusp = cutter::cusp_point(r, surface_.tool.kind == cutter::ToolKind::ball, upper + to_centre,
                                         lower + to_centre);
    if (cusp.kind == cutter::CuspCase::none) return Hidden::none;
    // A point of the surface has the place of the corner-arc centre above it.
    double const s = surface_.meridian.nearest(cusp.at - to_centre);
    if (s >= surface_.meridian.nearest(lower)) return Hidden::lower;
    return s <= surface_.meridian.nearest(upper) ? Hidden::upper : Hidden::none;
  }

  static Vec3 place(Section const& section, Vec2 tip) {
    return geometry::at_height(section.at + tip.x * section.away, tip.y);
  }

  // A wall's material may lie on either side.
  double below(double off) const { return surface_.away == 0 ? std::abs(off) : -off; }

  void measure_point(Vec3 const& p, std::uint32_t line) {
    double nearest = std::numeric_limits<double>::infinity();
    double d = 0;
    for (Segment const& s : surface_.loop) {
      Vec2 const q = geometry::xy(p);
      Vec2 foot{};
      if (s.arc) {
        Vec2 const arm = q - s.centre;
        double angle = std::atan2(geometry::cross(s.from - s.centre, arm), dot(s.from - s.centre, arm)) *
                       (s.ccw ? 1 : -1);
        if (angle < 0) angle += 2 * std::numbers::pi;
        bool const on = angle * s.radius() <= s.length();
        foot = on                                        ? s.centre + s.radius() * normalized(arm)
               : distance(q, s.from) < distance(q, s.to) ? s.from
                                                         : s.to;
      } else {
        Vec2 const along = s.to - s.from;
        foot = s.from + std::clamp(dot(q - s.from, along) / dot(along, along), 0.0, 1.0) * along;
      }
      double const away = distance(q, foot);
      if (away >= nearest) continue;
      nearest = away;
      double const share = s.arc ? share_of(s, foot) : 0;
      d = side_ * dot(left_normal(s.direction_at_share(share)), q - foot) >= 0 ? away : -away;
    }
    proof::keep(measure_.gouge, below(surface_.meridian.signed_distance({d, p.z})), p, line);
  }

  static double share_of(Segment const& s, Vec2 on) {
    Vec2 const a = s.from - s.centre;
    Vec2 const b = on - s.centre;
    double angle = std::atan2(geometry::cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    if (angle < 0) angle += 2 * std::numbers::pi;
    return std::min(1.0, angle * s.radius() / s.length());
  }

  std::span<motion::Step const> steps_;
  SpiralSurface const& surface_;
  double side_;
  std::vector<Section> sections_;
  SpiralMeasure measure_;
};

} // namespace

tl::expected<SpiralMeasure, std::string> measure_spiral(std::span<motion::Step const> steps,
                                                        SpiralSurface const& surface) {
  return SpiralModel(steps, surface).run();
}

} // namespace restep::proof
