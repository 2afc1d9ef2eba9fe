#include "finish/spiral_find.hpp"

#include <cmath>
#include <utility>

namespace restep::finish {

namespace {

constexpr double same_height = 1e-6; // mm: below every control's digit
constexpr double same_point = 0.0005;

// A turn that is cut twice is told once.
std::size_t once_round(std::vector<Segment> const& segments) {
  for (std::size_t j = 0; j < segments.size(); ++j)
    if (distance(segments[j].to, segments.front().from) <= same_point) return j + 1;
  return segments.size();
}

class Finder {
public:
  explicit Finder(std::span<motion::Step const> operation)
      : operation_(operation) {}

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
    if (!may_close(begin, end)) return;
    std::size_t from = begin;
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
    found_.push_back(std::move(run));
  }

  bool falls(std::size_t i) const {
    motion::Motion const* m = motion::motion_of(operation_[i]);
    return m != nullptr && is_falling_cut(*m);
  }

  std::span<motion::Step const> operation_;
  std::vector<SpiralRun> found_;
};

} // namespace

bool is_falling_cut(motion::Motion const& m) {
  if (!motion::is_cutting(m) || m.compensated || m.rotary) return false;
  if (!motion::is_known(m.from) || !motion::is_known(m.to)) return false;
  if (m.to.z >= m.from.z - same_height) return false;
  if (motion::is_arc(m)) return m.plane == motion::Plane::xy;
  return m.from.x != m.to.x || m.from.y != m.to.y;
}

std::vector<SpiralRun> find_spiral_runs(std::span<motion::Step const> operation) {
  return Finder(operation).run();
}

} // namespace restep::finish
