"""The order as JSON: money and quantities as decimal strings, lengths m, volumes m3, days as year-month-day."""

from __future__ import annotations

from typing import Any

from estimator.core.money import plain
from estimator.pricing.order_model import ConcreteSite, Cutting, Order, Ordered, SupplierTotal


def order_data(order: Order | None) -> dict[str, Any]:
    """The keys of the order at the top level; `order` is an empty list where nothing is bought."""
    if order is None:
        return {"order": []}
    return {
        "order": [_row(r) for r in order.rows],
        "order_totals": {
            "goods": str(order.goods),
            "delivery": str(order.delivery),
            "billed": str(order.billed),
            "complete": not order.missing,
        },
        "suppliers": [_supplier(s) for s in order.suppliers],
        "cutting": [_cutting(c) for c in order.cuttings],
        "concrete": [_concrete(c) for c in order.concrete],
    }


def _row(r: Ordered) -> dict[str, Any]:
    return {
        "code": r.code,
        "description": r.description,
        "colour": r.colour,
        "quantity": plain(r.quantity),
        "unit": r.unit,
        "packs": r.packs,
        "cost": str(r.cost),
        "needed": plain(r.needed),
        "pack": None if r.pack is None else plain(r.pack),
        "price": plain(r.price),
        "price_of": r.per,
        "left_over": plain(r.left_over),
        "billed": str(r.billed),
        "table": r.table,
        "supplier": r.supplier,
        "supplier_code": r.supplier_code,
        "lead_days": r.lead_days,
    }


def _supplier(s: SupplierTotal) -> dict[str, Any]:
    return {
        "supplier": s.name,
        "goods": str(s.goods),
        "minimum_order": str(s.minimum),
        "short": str(s.short),
        "delivery": str(s.delivery),
        "lead_days": s.lead_days,
        "order_by": None if s.order_by is None else s.order_by.isoformat(),
    }


def _cutting(c: Cutting) -> dict[str, Any]:
    return {
        "code": c.code,
        "colour": c.colour,
        "kind": c.kind,
        "kerf": c.kerf,
        "cost": str(c.cost),
        "least": str(c.least),
        "proved": c.proved,
        "bars": [
            {
                "length": b.length,
                "count": b.count,
                "price": str(b.price),
                "off_cut": b.off_cut,
                "pieces": [{"for": name, "length": length, "count": count} for name, length, count in b.pieces],
            }
            for b in c.bars
        ],
    }


def _concrete(c: ConcreteSite) -> dict[str, Any]:
    return {
        "site": c.site,
        "net": c.net,
        "gross": c.gross,
        "billed": c.billed,
        "ways": [
            {
                "code": w.code,
                "how": w.how,
                "quantity": plain(w.quantity),
                "unit": w.unit,
                "loads": w.loads,
                "goods": str(w.goods),
                "hours": float(w.hours),
                "labour": str(w.labour),
                "waiting_hours": float(w.waiting_hours),
                "waiting": str(w.waiting),
                "hire": str(w.hire),
                "total": str(w.total),
            }
            for w in c.ways
        ],
        "reserve": {"volume": c.reserve.volume, "cost": str(c.reserve.cost), "running_short": str(c.reserve.short)},
    }
