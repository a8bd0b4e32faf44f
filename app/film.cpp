#include "app/film.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <stdexcept>

#include "app/film_scene.hpp"
#include "app/machine_error.hpp"
#include "app/movie_file.hpp"
#include "app/run_plan.hpp"
#include "app/stop_signal.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/moment_picture.hpp"

namespace torsowave::app {
namespace {

using postproc::Canvas;
using postproc::Result;
using postproc::Snapshot;
using postproc::SnapshotPlan;

constexpr std::size_t most_frames = 100'000;
constexpr double seconds_a_cycle = 2.0;
constexpr int usual_width = 900;  // of a side [px]

/// \throws scenarios::InputError  The result has nothing there.
[[nodiscard]] postproc::SliceLine line_in(const Result& result, const FilmOrder& order)
{
  try {
    return postproc::line_through(result, *order.along, order.at);
  } catch (const std::invalid_argument& error) {
    refuse_film(error.what());
  }
}

/// Draws one side's moments, as a map or as a curve.
class Painter {
public:
  Painter(const FilmOrder& order, const Result& result, const SnapshotPlan& plan,
          double range, const postproc::Look& look)
      : result_(result), plan_(plan), range_(range), look_(look)
  {
    if (result.mode == "1D") {
      row_ = result;
    } else if (order.along) {
      line_ = line_in(result, order);
      row_ = postproc::row_of(result, *line_);
      name_ = postproc::name_of(result, *line_);
    } else {
      map_ = std::make_unique<postproc::MomentPictures>(
          result, plan, postproc::SignedScale{range, order.decibel}, look);
    }
  }

  /// May be called from several threads at once.
  [[nodiscard]] Canvas draw(const Snapshot& moment, const std::string& title) const
  {
    if (map_) {
      return map_->draw(moment.values, title);
    }
    const Snapshot on_row =
        line_ ? postproc::row_of(moment, result_, plan_.stride, *line_) : moment;
    return postproc::draw_row_moment(*row_, on_row, plan_, range_, title, name_, look_);
  }

private:
  const Result& result_;
  const SnapshotPlan& plan_;
  double range_;
  postproc::Look look_;
  std::optional<postproc::SliceLine> line_;
  std::optional<Result> row_;
  postproc::RowLine name_;
  std::unique_ptr<postproc::MomentPictures> map_;
};

/// The top of the scale: the same for all sides, a round number.
/// \param curves  not maps
[[nodiscard]] double range_of(const FilmOrder& order, bool curves,
                              const std::vector<std::unique_ptr<Scene>>& scenes)
{
  if (order.range) {
    return *order.range;
  }
  double largest = 0.0;
  for (const auto& scene : scenes) {
    largest = std::max(largest, scene->usual_range());
  }
  return order.decibel && !curves ? level_top(largest) : postproc::round_up(largest);
}

/// Where nobody says when a film ends, it ends with the wave: a run goes on until what is
/// left is far below the scale.
[[nodiscard]] FilmOrder while_seen(FilmOrder order, double range, bool curves,
                                   const std::vector<std::unique_ptr<Scene>>& scenes)
{
  if (order.to) {
    return order;
  }
  // The colours by level end at 60 dB; of the others a hundredth can just be told.
  const double least = range * (order.decibel && !curves ? 1e-3 : 1e-2);
  double last = order.slow ? order.slow->to : 0.0;
  for (const auto& scene : scenes) {
    last = std::max(last, scene->seen_until(least));
  }
  if (!order.from || *order.from < last) {
    order.to = last;
  }
  return order;
}

/// Shares of the oscillation: the frame after the last would be the first again.
[[nodiscard]] std::vector<double> steady_moments(const FilmOrder& order)
{
  const double length = order.length.value_or(seconds_a_cycle * order.cycles);
  const double frames = std::max(1.0, std::round(length * order.frames_per_second));
  std::vector<double> moments;
  for (double n = 0.0; n < std::min(frames, static_cast<double>(most_frames) + 1.0);
       n += 1.0) {
    moments.push_back(order.cycles * n / frames);
  }
  return moments;
}

/// Side by side, each in the middle of the common height.
[[nodiscard]] Canvas joined(const std::vector<Canvas>& pictures,
                            const postproc::Look& look)
{
  if (pictures.size() == 1) {
    return pictures.front();
  }
  int width = 0;
  int height = 0;
  for (const Canvas& picture : pictures) {
    width += picture.width();
    height = std::max(height, picture.height());
  }
  const postproc::Box page{0.0, 0.0, static_cast<double>(width),
                           static_cast<double>(height)};
  Canvas whole(page, page, {look.theme, 0, false, 0.0});
  int x = 0;
  for (const Canvas& picture : pictures) {
    whole.paste(picture, x, (height - picture.height()) / 2);
    x += picture.width();
  }
  return whole;
}

/// The film as pictures, in batches of a frame for each thread.
class Film {
public:
  Film(const FilmOrder& order, const std::vector<FilmSide>& sides) : order_(order)
  {
    const std::string quantity =
        order.quantity.empty() ? usual_quantity(sides.front()) : order.quantity;
    for (const FilmSide& side : sides) {
      scenes_.push_back(scene_of(side, quantity, order.frequency));
      if (scenes_.back()->plan().field != scenes_.front()->plan().field) {
        refuse_film(fmt::format("the results show different fields: {} and {}",
                                scenes_.front()->plan().field,
                                scenes_.back()->plan().field));
      }
    }
    const bool curves = order.along || sides.front().result.mode == "1D";
    range_ = range_of(order, curves, scenes_);
    moments_ = is_field_name(quantity)
                   ? steady_moments(order)
                   : film_moments(while_seen(order, range_, curves, scenes_),
                                  sides.front().snapshots.times());
    postproc::Look look = order.look;
    const auto count = static_cast<int>(sides.size());
    look.width = look.width > 0 ? look.width / count / 2 * 2 : usual_width;
    for (std::size_t s = 0; s < sides.size(); ++s) {
      painters_.push_back(std::make_unique<Painter>(order, sides[s].result,
                                                    scenes_[s]->plan(), range_, look));
    }
  }

  [[nodiscard]] std::size_t count() const { return moments_.size(); }
  [[nodiscard]] double range() const { return range_; }
  [[nodiscard]] const std::string& units() const { return scenes_.front()->plan().units; }

  /// Frames of these numbers, in their order.
  [[nodiscard]] std::vector<Canvas> draw(const std::vector<std::size_t>& numbers)
  {
    std::vector<std::vector<Snapshot>> values(numbers.size());
    for (std::size_t n = 0; n < numbers.size(); ++n) {
      for (const auto& scene : scenes_) {  // HDF5: one after the other
        values[n].push_back(scene->moment(moments_[numbers[n]]));
      }
    }
    std::vector<std::optional<Canvas>> drawn(numbers.size());
    std::exception_ptr failure;
#pragma omp parallel for schedule(dynamic)
    for (std::size_t n = 0; n < numbers.size(); ++n) {
      try {
        drawn[n] = frame(values[n]);
      } catch (...) {
#pragma omp critical(torsowave_film)
        failure = std::current_exception();
      }
    }
    if (failure) {
      std::rethrow_exception(failure);
    }
    std::vector<Canvas> frames;
    frames.reserve(drawn.size());
    for (std::optional<Canvas>& canvas : drawn) {
      frames.push_back(*std::move(canvas));
    }
    return frames;
  }

private:
  [[nodiscard]] Canvas frame(const std::vector<Snapshot>& values) const
  {
    std::vector<Canvas> pictures;
    for (std::size_t s = 0; s < painters_.size(); ++s) {
      pictures.push_back(painters_[s]->draw(values[s], scenes_[s]->title(values[s])));
    }
    return joined(pictures, order_.look);
  }

  const FilmOrder& order_;
  std::vector<std::unique_ptr<Scene>> scenes_;
  std::vector<std::unique_ptr<Painter>> painters_;
  std::vector<double> moments_;
  double range_ = 1.0;
};

/// Some frames from all over the film.
[[nodiscard]] std::vector<std::size_t> sample_numbers(std::size_t count)
{
  constexpr std::size_t samples = 6;
  std::vector<std::size_t> numbers;
  for (std::size_t n = 0; n < samples; ++n) {
    numbers.push_back(n * (count - 1) / (samples - 1));
  }
  return numbers;
}

void write_frames(Film& film, MovieFile& movie, const FilmProgress& progress)
{
  const auto batch = static_cast<std::size_t>(std::max(1, omp_get_max_threads()));
  for (std::size_t first = 0; first < film.count(); first += batch) {
    std::vector<std::size_t> numbers;
    for (std::size_t n = first; n < std::min(first + batch, film.count()); ++n) {
      numbers.push_back(n);
    }
    for (const Canvas& frame : film.draw(numbers)) {
      movie.add(frame);
    }
    if (StopSignal::requested()) {
      throw Interrupted("stopped by a signal; the animation is not kept");
    }
    if (progress) {
      progress(first + numbers.size(), film.count());
    }
  }
}

}  // namespace

std::string film_text(const FilmFacts& film)
{
  return fmt::format("{} frames of {} x {} pixels, {:.1f} s", film.frames, film.width,
                     film.height, film.seconds);
}

std::vector<double> film_moments(const FilmOrder& order, const std::vector<double>& times)
{
  const double from = std::max(order.from.value_or(times.front()), times.front());
  const double to = std::min(order.to.value_or(times.back()), times.back());
  if (!(from <= to)) {
    refuse_film(fmt::format(
        "no moment is stored from {:.4g} to {:.4g} ns; they go from {:.4g} to "
        "{:.4g} ns",
        1e9 * order.from.value_or(times.front()), 1e9 * order.to.value_or(times.back()),
        1e9 * times.front(), 1e9 * times.back()));
  }
  // Time on the film: that of the run, stretched where it is slow.
  const double slow_from = order.slow ? std::clamp(order.slow->from, from, to) : from;
  const double slow_to = order.slow ? std::clamp(order.slow->to, slow_from, to) : from;
  const double factor = order.slow ? order.slow->factor : 1.0;
  const double slow_length = factor * (slow_to - slow_from);
  const double whole = (to - from) - (slow_to - slow_from) + slow_length;
  const auto stored = static_cast<double>(std::ranges::upper_bound(times, to) -
                                          std::ranges::lower_bound(times, from));
  const double step =
      stored > 1.0 ? (to - from) / (stored - 1.0) : std::max(whole, 1e-300);
  const double frames = order.length ? std::round(*order.length * order.frames_per_second)
                                     : std::round(whole / step) + 1.0;
  if (!(frames >= 1.0) || frames > static_cast<double>(most_frames)) {
    refuse_film(
        fmt::format("the film would have {:.0f} frames; from 1 to {} are possible",
                    frames, most_frames));
  }
  std::vector<double> moments;
  for (double n = 0.0; n < frames; n += 1.0) {
    const double passed = frames > 1.0 ? whole * n / (frames - 1.0) : 0.0;
    const double before = slow_from - from;
    moments.push_back(passed <= before ? from + passed
                      : passed <= before + slow_length
                          ? slow_from + (passed - before) / factor
                          : slow_to + passed - before - slow_length);
  }
  return moments;
}

FilmFacts make_film(const FilmOrder& order, const std::vector<FilmSide>& sides,
                    const std::filesystem::path& path, const FilmProgress& progress)
{
  const MovieFormat format = movie_format(path);
  Film film(order, sides);
  if (film.count() > most_frames) {
    refuse_film(fmt::format("the film would have more than {} frames", most_frames));
  }
  MovieSpec spec{format, order.frames_per_second, 0, 0, {}};
  spec.samples = film.draw(format == MovieFormat::gif ? sample_numbers(film.count())
                                                      : std::vector<std::size_t>{0});
  spec.width = spec.samples.front().width();
  spec.height = spec.samples.front().height();
  MovieFile movie(path, spec);
  write_frames(film, movie, progress);
  movie.finish();
  return {film.count(), static_cast<double>(film.count()) / order.frames_per_second,
          spec.width,   spec.height,
          film.range(), film.units()};
}

}  // namespace torsowave::app
