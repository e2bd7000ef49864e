from django.apps import AppConfig


class QuotingConfig(AppConfig):
    name = "quoting"
    verbose_name = "Quoting"

    def ready(self) -> None:
        # These need the models to be there.
        from catalog import assembly_prices
        from fitouts import uploads
        from quoting import bulk, finding
        from quoting.rules import can_bring_in
        from quoting.services import assembly_price, sheet_files

        larger = uploads.Larger(max_bytes=sheet_files.MAX_BYTES, folder=sheet_files.FOLDER, may=can_bring_in)
        uploads.take_larger("table_kind", larger)
        assembly_prices.priced_by(assembly_price.price)
        finding.declare()
        bulk.declare_all()
