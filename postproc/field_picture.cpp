#include "postproc/field_picture.hpp"

#include <utility>

#include "postproc/figure_check.hpp"

namespace torsowave::postproc {

FieldPicture::FieldPicture(const Result& result, int stride, ColorScale scale,
                           const Titles& titles, MapTone tone, const Look& look)
    : result_(result),
      stride_(stride),
      scale_(std::move(scale)),
      tone_(tone),
      core_only_(look.core_only),
      layout_(
          slice_layout(result.grid, {.notes = static_cast<int>(titles.notes.size())})),
      font_(find_font_file()),
      base_(layout_.canvas(look)),
      rim_(base_),
      outlines_(base_)
{
  require_tissues(result);
  // A thumbnail's lines would all but vanish, or fill narrow tissues, at the page's
  // width.
  const double thickness = core_only_ ? 1.0 / base_.scale().factor : 1.2;
  const GridInfo& grid = result.grid;
  if (tone == MapTone::dark) {
    add_outlines(rim_, layout_.map, grid.nx, grid.ny, result.labels, thickness + 2.0);
  }
  add_outlines(outlines_, layout_.map, grid.nx, grid.ny, result.labels, thickness);
  if (!core_only_) {
    draw_slice_axes(base_, font_, layout_);
    draw_color_bar(base_, font_, layout_.map, scale_);
    draw_scale_bar(base_, font_, layout_, layout_.map.bottom() + 22.0);
    draw_titles(base_, font_, titles);
  }
}

Canvas FieldPicture::paint(std::span<const double> values) const
{
  const GridInfo& grid = result_.grid;
  require_size("values of a map", values.size(),
               static_cast<std::size_t>(kept(grid.nx, stride_)) *
                   static_cast<std::size_t>(kept(grid.ny, stride_)));
  CellColors cells{grid.nx, grid.ny, stride_, {}};
  cells.colors.reserve(values.size());
  for (const double value : values) {
    cells.colors.push_back(scale_.color_of(value));
  }
  Canvas canvas = base_;
  paint_cells(canvas, layout_.map, cells);
  const bool dark = tone_ == MapTone::dark;
  if (dark) {
    canvas.paint(rim_, dark_line, 0.35, layout_.map);
  }
  canvas.paint(outlines_, dark ? light_line : dark_line, dark ? 0.85 : 0.6, layout_.map);
  if (!core_only_) {
    draw_implant(canvas, font_, layout_, result_, false);
  }
  return canvas;
}

void FieldPicture::add_title(Canvas& canvas, const std::string& title) const
{
  if (!core_only_) {
    draw_titles(canvas, font_, {title, "", {}});
  }
}

}  // namespace torsowave::postproc
