#include "finish/spiral_find.hpp"

#include "finish/turning.hpp"

#include <cmath>
#include <numbers>
#include <utility>

namespace restep::finish {

namespace {

constexpr double same_point = 0.0005;

// A turn that is cut twice is told once.
std::size_t once_round(std::vector<Segment> const& segments) {
  for (std::size_t j = 0; j < segments.size(); ++j)
    if (distance(segments[j].to, segments.front().from) <= same_point) return j + 1;
  return segments.size();
}

class Finder {
public:
  Finder(std::span<motion::Step const> operation, double max_shift)
      : operation_(operation)
      , max_shift_(max_shift) {}

  std::vector<SpiralRun> run() {
    std::size_t begin = 0;
    bool open = false;
    for (std::size_t i = 0; i < operation_.size(); ++i) {
      motion::Motion const* m = motion::motion_of(operation_[i]);
      if (m == nullptr) continue; // a remark between two blocks does not end a run
      bool const falls_or_stays = is_falling_cut(*m) || is_level_cut(*m);
      if (falls_or_stays && !open) begin = i;
      if (!falls_or_stays && open) look_into(begin, i);
      open = falls_or_stays;
    }
    if (open) look_into(begin, operation_.size());
    return std::move(found_);
  }

private:
  // A loop at one height, behind a motion that falls, takes two motions or an arc.
  bool may_close(std::size_t begin, std::size_t end) const {
    bool fallen = false;
    int level = 0;
    for (std::size_t i = begin; i < end; ++i) {
      motion::Motion const* m = motion::motion_of(operation_[i]);
      if (m == nullptr) continue;
      if (m->to.z < m->from.z - same_height) {
        fallen = true;
        level = 0;
      } else if (fallen && (++level == 2 || motion::is_arc(*m))) {
        return true;
      }
    }
    return false;
  }

  void look_into(std::size_t begin, std::size_t end) {
    std::size_t from = begin;
    if (may_close(begin, end)) look_for_closing(begin, end, from);
    if (goes_round(from, end)) add_open(from, end);
  }

  // `from` goes behind the last closing turn.
  void look_for_closing(std::size_t begin, std::size_t end, std::size_t& from) {
    for (Contour const& contour : find_contours(operation_.subspan(begin, end - begin))) {
      if (!contour.closed) continue;
      std::size_t const loop_first = begin + contour.first_step;
      add(from, loop_first, contour, begin);
      from = begin + contour.last_step + 1;
    }
  }

  void add(std::size_t from, std::size_t loop_first, Contour const& contour, std::size_t begin) {
    while (from < loop_first && !falls(from))
      ++from;
    if (from == loop_first) return;
    SpiralRun run;
    run.first = from;
    run.last = loop_first - 1;
    while (motion::motion_of(operation_[run.last]) == nullptr)
      --run.last;
    std::size_t const elements = once_round(contour.segments);
    run.loop.assign(contour.segments.begin(),
                    contour.segments.begin() + static_cast<std::ptrdiff_t>(elements));
    for (Segment& s : run.loop)
      s.step += begin;
    run.loop_last = begin + contour.last_step;
    run.goes_round = goes_round(run.first, run.last + 1);
    found_.push_back(std::move(run));
  }

  // Four turns of the way, one after the other, run beside the one before.
  bool goes_round(std::size_t begin, std::size_t end) const {
    constexpr double whole_turn = 2 * std::numbers::pi;
    constexpr int least_turns = 4;
    constexpr double corner = 0.3; // radians: looked at where the course bends, not on a line
    double const least_length = 1.2 * std::numbers::pi * max_shift_;
    Turning turning;
    double way = 0;
    int turns = -1, beside_itself = 0;
    double way_there = 0;
    motion::Vec3 there{};
    for (std::size_t i = begin; i < end; ++i) {
      motion::Motion const* m = motion::motion_of(operation_[i]);
      if (m == nullptr) continue;
      turning.add(*m);
      way += motion::is_arc(*m) ? motion::sweep(*m) * motion::radius(*m)
                                : distance(geometry::xy(m->from), geometry::xy(m->to));
      if (std::abs(turning.turned()) < (turns + 1) * whole_turn + corner) continue;
      Vec2 const here = geometry::xy(m->from);
      bool const beside =
          distance(here, geometry::xy(there)) <= max_shift_ && m->from.z < there.z - same_height;
      beside_itself = turns >= 0 && beside && way - way_there >= least_length ? beside_itself + 1 : 0;
      if (beside_itself == least_turns) return true;
      ++turns;
      there = m->from;
      way_there = way;
    }
    return false;
  }

  void add_open(std::size_t begin, std::size_t end) {
    SpiralRun run;
    run.first = begin;
    while (motion::motion_of(operation_[run.first]) == nullptr)
      ++run.first;
    run.last = end - 1;
    while (!falls(run.last)) // what follows leads out
      --run.last;
    run.loop_last = run.last;
    run.goes_round = true;
    found_.push_back(std::move(run));
  }

  bool falls(std::size_t i) const {
    motion::Motion const* m = motion::motion_of(operation_[i]);
    return m != nullptr && is_falling_cut(*m);
  }

  std::span<motion::Step const> operation_;
  double max_shift_;
  std::vector<SpiralRun> found_;
};

} // namespace

namespace {

// True for a feed motion in the XY plane, sideways between two places of which the first is the higher one.
bool slopes(motion::Motion const& m, motion::Vec3 const& high, motion::Vec3 const& low) {
  if (!motion::is_cutting(m) || m.compensated || m.rotary) return false;
  if (!motion::is_known(m.from) || !motion::is_known(m.to)) return false;
  if (!motion::is_arc(m)) return is_falling_way(high, low);
  return m.plane == motion::Plane::xy && low.z < high.z - same_height;
}

} // namespace

bool is_falling_cut(motion::Motion const& m) {
  return slopes(m, m.from, m.to);
}

bool is_rising_cut(motion::Motion const& m) {
  return slopes(m, m.to, m.from);
}

bool begins_level(std::span<motion::Step const> operation, std::size_t first) {
  motion::Vec3 const begin = motion::motion_of(operation[first])->from;
  for (std::size_t i = first; i-- > 0;) {
    motion::Motion const* m = motion::motion_of(operation[i]);
    if (m == nullptr) continue;
    if (!is_level_cut(*m) || std::abs(m->from.z - begin.z) > same_height) return false;
    if (distance(geometry::xy(m->from), geometry::xy(begin)) > same_point) continue;
    Turning turning;
    for (std::size_t k = i; k < first; ++k)
      if (motion::Motion const* on = motion::motion_of(operation[k]); on != nullptr) turning.add(*on);
    return std::abs(turning.turned()) > std::numbers::pi;
  }
  return false;
}

std::vector<SpiralRun> find_spiral_runs(std::span<motion::Step const> operation, double max_shift) {
  return Finder(operation, max_shift).run();
}

} // namespace restep::finish
