#pragma once

#include "motion/step.hpp"
#include "motion/stretch.hpp"

#include <cstddef>
#include <span>
#include <vector>

namespace restep::transform {

/// A stage that works on one block at a time: it may put steps of its own in front of the block's steps and
/// leave steps out. Memory: one block.
///
/// Steps put in become blocks of their own. Where they fall between two steps of a block, or a step is left
/// out, the rest of the block is marked as touched and becomes as many blocks as there are pieces.
class BlockStage : public motion::StepSource {
public:
  explicit BlockStage(motion::StepSource& upstream)
      : upstream_(upstream) {}

  bool next(motion::Step& step) final;
  bool next_stretch(motion::Stretch& stretch) final;

protected:
  /// Handles one block: keep() for each step that stays, insert() for new ones.
  virtual void handle(std::span<motion::Step> block) = 0;
  /// The end of the stream.
  virtual void finish() {}
  /// True when the stage leaves all cuts of a stretch as they are; it has then taken them into account. What
  /// is not passed is handled block by block.
  virtual bool passes(motion::Stretch const& /*stretch*/) { return false; }

  /// Passes a step of the block on. New steps that later steps of the block ask for go behind it if
  /// `before_insertions`, else in front of it: what only prepares (S, T, M3, a remark) need not be torn from
  /// its block.
  void keep(motion::Step const& step, bool before_insertions);

  /// Puts a new step in. It carries the place, the modes and the block delete of the step that caused it.
  void insert(motion::Event event, motion::Step const& cause);

private:
  /// A step on its way out: of the block, or put in. Steps are large and pass many stages, so a block of
  /// several is copied in and out and no more, and a lone one not at all.
  struct Item {
    std::size_t index;
    bool inserted;
  };
  motion::Unravelled upstream_;
  std::vector<motion::Step> block_;     ///< never shrinks: its first steps are the block's
  motion::Step const* begin_ = nullptr; ///< of the block that handle() was given
  std::vector<motion::Step> insertions_;
  std::vector<Item> out_;
  std::size_t taken_ = 0;
  std::size_t slot_ = 0;
  bool ended_ = false;

  void start_block();
  void handle_block(std::span<motion::Step> block);
  void take_block(motion::Step const& first);
  motion::Step& step_of(Item item) { return item.inserted ? insertions_[item.index] : block_[item.index]; }
  void settle(std::size_t kept_before);
};

/// True for what may stand in front of a retract that its own block causes: speed, spindle, coolant, tool
/// number, overrides, remarks and layout. They move nothing and change no coordinates.
bool only_prepares(motion::Event const& event);

} // namespace restep::transform
