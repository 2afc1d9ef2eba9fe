#pragma once

#include "motion/step.hpp"
#include "text/place.hpp"

#include <array>
#include <atomic>
#include <cstddef>
#include <deque>
#include <memory>
#include <utility>

namespace restep::motion {

/// How far and which way each cut of a stretch goes, in columns.
struct Ways {
  double const* length = nullptr; ///< mm
  double const* x = nullptr;      ///< unit direction; of a cut without length zero
  double const* y = nullptr;
  double const* z = nullptr;

  Vec3 direction(std::size_t i) const { return {x[i], y[i], z[i]}; }
};

/// The columns of a stretch. Who wants to keep one keeps its columns and copies nothing: they are filled anew
/// only when nobody does (`StretchPool`). Any number of threads may read them.
class StretchColumns : public std::enable_shared_from_this<StretchColumns> {
public:
  /// Small enough for all columns to stay in the processor's nearest caches.
  static constexpr std::size_t most = 256;

  std::array<double, most + 1> x{}, y{}, z{};
  std::array<text::Place, most> places{};

  void set(std::size_t i, Vec3 point) {
    x[i] = point.x;
    y[i] = point.y;
    z[i] = point.z;
  }
  /// The columns were filled with so many cuts: what was measured on them before is void.
  void renew(std::size_t cuts) {
    cuts_ = cuts;
    measured_.store(Measured::no, std::memory_order_relaxed);
  }
  /// Measured when somebody asks first.
  Ways ways() const {
    if (measured_.load(std::memory_order_acquire) != Measured::yes) measure_once();
    return {length_.data(), along_x_.data(), along_y_.data(), along_z_.data()};
  }

private:
  friend class ColumnsHold;
  friend class StretchPool;

  mutable std::atomic<int> holders_{0};
  std::size_t cuts_ = 0;
  enum class Measured : unsigned char { no, now, yes };
  mutable std::atomic<Measured> measured_{Measured::no};
  /// A little longer than is needed: loops over them go in small blocks.
  mutable std::array<double, most + 8> length_{}, along_x_{}, along_y_{}, along_z_{};

  void measure_once() const;
  void measure() const;
};

/// Keeps columns from being filled anew, on whichever thread it lives. Not the count of a shared pointer: to
/// look at that says nothing of what the last holder has read.
class ColumnsHold {
public:
  ColumnsHold() = default;
  explicit ColumnsHold(StretchColumns const& columns)
      : columns_(columns.shared_from_this()) {
    columns_->holders_.fetch_add(1, std::memory_order_relaxed);
  }
  ColumnsHold(ColumnsHold&& other) noexcept
      : columns_(std::move(other.columns_)) {}
  ColumnsHold& operator=(ColumnsHold&& other) noexcept {
    std::swap(columns_, other.columns_);
    return *this;
  }
  ColumnsHold(ColumnsHold const&) = delete;
  ColumnsHold& operator=(ColumnsHold const&) = delete;
  ~ColumnsHold() {
    // What was read is read before the columns are let go.
    if (columns_) columns_->holders_.fetch_sub(1, std::memory_order_release);
  }

private:
  std::shared_ptr<StretchColumns const> columns_;
};

/// Where a source takes columns from. They are used again when nobody holds them any more.
class StretchPool {
public:
  /// Columns to fill: others than those given last, unless nobody holds those.
  StretchColumns& next();

private:
  std::deque<std::shared_ptr<StretchColumns>> all_; ///< those given longest ago first
};

/// Straight cuts that follow each other line by line, one to a block, under one modal state and with one
/// feed per minute, their ends known, neither compensated nor with rotary axes: what most of a program
/// consists of. Handed from stage to stage as a whole, in columns, a block costs a tenth of what a step does.
///
/// A view: it is valid until its source is asked for something else. Point 0 is where the first cut begins,
/// cut i runs from point i to point i + 1.
struct Stretch {
  static constexpr std::size_t longest = StretchColumns::most;

  StretchColumns const* columns = nullptr;
  std::size_t first = 0;   ///< column of point 0
  std::size_t size = 0;    ///< cuts
  Motion like{};           ///< every cut but for its ends
  Modes modes{};           ///< before each of the blocks
  bool says_feed = false;  ///< the text of one of the blocks says the feed in force again
  bool other_feed = false; ///< of every cut, as in a step

  double const* x() const { return columns->x.data() + first; }
  double const* y() const { return columns->y.data() + first; }
  double const* z() const { return columns->z.data() + first; }
  text::Place const* places() const { return columns->places.data() + first; } ///< of the cuts' blocks
  Ways ways() const {
    Ways const all = columns->ways();
    return {all.length + first, all.x + first, all.y + first, all.z + first};
  }

  Vec3 point(std::size_t i) const { return {x()[i], y()[i], z()[i]}; }
  Vec3 end() const { return point(size); }
  text::Place const& last_place() const { return places()[size - 1]; }
  bool moves(std::size_t i) const { return point(i) != point(i + 1); }
  bool moves_sideways(std::size_t i) const { return x()[i] != x()[i + 1] || y()[i] != y()[i + 1]; }

  Motion cut(std::size_t i) const {
    Motion motion = like;
    motion.from = point(i);
    motion.to = point(i + 1);
    return motion;
  }
  Step step(std::size_t i) const {
    Step step;
    step.event = cut(i);
    step.place = places()[i];
    step.modes = modes;
    step.other_feed = other_feed;
    return step;
  }
  /// `count` cuts from `from` on.
  Stretch part(std::size_t from, std::size_t count) const {
    Stretch part = *this;
    part.first += from;
    part.size = count;
    return part;
  }
  /// All but the first `count` cuts.
  Stretch behind(std::size_t count) const { return part(count, size - count); }
};

/// A stretch begins behind a straight cut: to ask for one elsewhere costs as much as a small step.
inline bool may_precede_stretch(Step const& step) {
  Motion const* const move = motion_of(step);
  return move != nullptr && move->path == PathKind::line && step.last_in_block;
}

/// The steps of a source one by one, whether they come in stretches or not. What stands behind it sees a
/// stretch only when it asks for one, and may take it apart after all.
class Unravelled {
public:
  explicit Unravelled(StepSource& source)
      : source_(source) {}

  bool next(Step& step) {
    if (at_ == stretch_.size) return source_.next(step);
    step = stretch_.step(at_++);
    return true;
  }
  /// False when the next step must be asked for by itself.
  bool next_stretch(Stretch& stretch) { return at_ == stretch_.size && source_.next_stretch(stretch); }
  /// Gives a stretch that was just taken step by step.
  void take_apart(Stretch const& stretch) {
    stretch_ = stretch;
    at_ = 0;
  }

private:
  StepSource& source_;
  Stretch stretch_;
  std::size_t at_ = 0;
};

inline text::Place const& last_place(Step const& step) {
  return step.place;
}
inline text::Place const& last_place(Stretch const& stretch) {
  return stretch.last_place();
}

/// Calls `visit` with every step, or with those of a stretch.
template <class Visit>
void for_each_step(Step const& step, Visit const& visit) {
  visit(step);
}
template <class Visit>
void for_each_step(Stretch const& stretch, Visit const& visit) {
  for (std::size_t i = 0; i < stretch.size; ++i)
    visit(stretch.step(i));
}

/// Calls `take` with everything that a source gives, steps and stretches as they come, as long as it says
/// true.
template <class Take>
void for_each(StepSource& source, Take const& take) {
  Step step;
  Stretch stretch;
  bool may_stretch = false;
  for (;;) {
    if (may_stretch && source.next_stretch(stretch)) {
      if (!take(std::as_const(stretch))) return;
      continue;
    }
    if (!source.next(step)) return;
    may_stretch = may_precede_stretch(step);
    if (!take(std::as_const(step))) return;
  }
}

} // namespace restep::motion
