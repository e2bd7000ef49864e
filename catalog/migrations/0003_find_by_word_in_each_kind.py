from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("catalog", "0002_desk_and_assemblies")]

    operations = [
        migrations.RemoveIndex(model_name="searchword", name="search_word_to_row"),
        migrations.AddIndex(
            model_name="searchword",
            index=models.Index(
                fields=["about", "word", "row_id"],
                name="search_word_in_kind",
                opclasses=["varchar_pattern_ops", "varchar_pattern_ops", "int8_ops"],
            ),
        ),
    ]
