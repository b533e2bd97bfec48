"""The log of finished pieces: records, their photos and places, the scheme of serial numbers, and the search."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import projects.models.fields
import projects.models.photos
import projects.models.serials
import projects.models.studio
from decimal import Decimal
from django.db import migrations, models


def index_words(apps, schema_editor):
    """Make the index that the log is searched by: triggers keep it in SQLite, PostgreSQL does so by itself."""
    from projects.record_search import POSTGRESQL, SQLITE

    for statement in POSTGRESQL if schema_editor.connection.vendor == "postgresql" else SQLITE:
        schema_editor.execute(statement)


def drop_index(apps, schema_editor):
    """Take the index away, and in SQLite first what keeps it."""
    if schema_editor.connection.vendor == "postgresql":
        return
    for ending in ("added", "gone", "changed"):
        schema_editor.execute(f"DROP TRIGGER IF EXISTS projects_record_words_{ending}")
    schema_editor.execute("DROP TABLE IF EXISTS projects_record_words")


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0025_quote_life'),
    ]

    operations = [
        migrations.CreateModel(
            name='PieceRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('piece', models.PositiveSmallIntegerField(default=1, editable=False, verbose_name='piece of the commission')),
                ('serial', models.CharField(max_length=40, verbose_name='serial number')),
                ('title', models.CharField(max_length=160)),
                ('made_on', models.DateField(blank=True, null=True, verbose_name='finished on')),
                ('year', models.PositiveSmallIntegerField(blank=True, help_text='Where the day is not known.', null=True, validators=[django.core.validators.MinValueValidator(1900), django.core.validators.MaxValueValidator(2200)])),
                ('form', models.CharField(blank=True, help_text='In a word or two: bowl, vase, hollow form ...', max_length=80)),
                ('height', projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10000'), message='Must be at most %(limit_value)s.')], verbose_name='height, measured')),
                ('diameter', projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10000'), message='Must be at most %(limit_value)s.')], verbose_name='largest diameter, measured')),
                ('mass_g', projects.models.fields.TidyDecimalField(blank=True, decimal_places=1, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.1'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1000000'), message='Must be at most %(limit_value)s.')], verbose_name='mass, measured')),
                ('designed_height', projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, editable=False, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10000'), message='Must be at most %(limit_value)s.')], verbose_name='height, as designed')),
                ('designed_diameter', projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, editable=False, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10000'), message='Must be at most %(limit_value)s.')], verbose_name='largest diameter, as designed')),
                ('designed_mass_g', projects.models.fields.TidyDecimalField(blank=True, decimal_places=1, editable=False, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.1'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1000000'), message='Must be at most %(limit_value)s.')], verbose_name='mass, as designed')),
                ('size', projects.models.fields.TidyDecimalField(blank=True, decimal_places=3, editable=False, max_digits=9, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('10000'), message='Must be at most %(limit_value)s.')], verbose_name='largest side')),
                ('segments', models.PositiveIntegerField(blank=True, null=True, validators=[django.core.validators.MaxValueValidator(1000000)])),
                ('price', projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, help_text='As asked or sold, what the buyer pays.', max_digits=14, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.')], verbose_name='price')),
                ('currency', models.CharField(max_length=3, validators=[django.core.validators.RegexValidator('\\A[A-Z]{3}\\Z'), projects.models.studio.validate_currency])),
                ('moisture_words', models.TextField(blank=True, max_length=4000, verbose_name='moisture at glue-up')),
                ('adhesive_words', models.TextField(blank=True, help_text='The lot as on the label, one a line.', max_length=4000, verbose_name='adhesive and its lot')),
                ('boards_words', models.TextField(blank=True, max_length=4000, verbose_name='where the boards come from')),
                ('saw_words', models.TextField(blank=True, max_length=4000, verbose_name='saw settings')),
                ('as_built_words', models.TextField(blank=True, max_length=4000, verbose_name='as-built heights')),
                ('failures', models.TextField(blank=True, max_length=4000, verbose_name='what failed')),
                ('repairs', models.TextField(blank=True, max_length=4000, verbose_name='repairs')),
                ('lessons', models.TextField(blank=True, max_length=4000, verbose_name='what to do otherwise next time')),
                ('care', models.TextField(blank=True, max_length=4000, verbose_name='care, for the buyer')),
                ('known', models.JSONField(blank=True, default=dict, editable=False)),
                ('place', models.CharField(choices=[('studio', 'in the studio'), ('consigned', 'at a gallery, on consignment'), ('sold', 'sold'), ('lent', 'lent'), ('given', 'given away')], default='studio', editable=False, max_length=9)),
                ('place_since', models.DateField(blank=True, editable=False, null=True)),
                ('place_words', models.CharField(blank=True, editable=False, max_length=160)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('updated_at', models.DateTimeField(auto_now=True)),
                ('commission', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='records', to='projects.commission')),
                ('design', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='records', to='projects.design')),
                ('studio', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='records', to='projects.studio')),
            ],
            options={
                'ordering': [models.OrderBy(models.F('year'), descending=True, nulls_last=True), models.OrderBy(models.F('made_on'), descending=True, nulls_last=True), '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RecordWords',
            fields=[
                ('record', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, primary_key=True, related_name='words', serialize=False, to='projects.piecerecord')),
                ('words', models.TextField(blank=True)),
            ],
            options={
                'verbose_name_plural': 'record words',
            },
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('studio', 'in the studio'), ('consigned', 'at a gallery, on consignment'), ('sold', 'sold'), ('lent', 'lent'), ('given', 'given away')], max_length=9, verbose_name='where it is')),
                ('since', models.DateField(default=django.utils.timezone.localdate, verbose_name='since')),
                ('words', models.CharField(blank=True, help_text='Where none of the clients has it.', max_length=120, verbose_name='with whom, or where')),
                ('price', projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, help_text='What was paid, or is asked there.', max_digits=14, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.')], verbose_name='price')),
                ('note', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('client', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='placed', to='projects.client', verbose_name='with')),
                ('member', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='places', to='projects.piecerecord')),
                ('takes_back', models.OneToOneField(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='taken_back_by', to='projects.place')),
            ],
            options={
                'ordering': ['since', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='RecordChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=200)),
                ('before', models.JSONField(blank=True, default=dict)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('member', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='changes', to='projects.piecerecord')),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RecordCoat',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=1)),
                ('name', models.CharField(max_length=120)),
                ('put_on', models.DateField(blank=True, null=True, verbose_name='put on')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='coats', to='projects.piecerecord')),
            ],
            options={
                'ordering': ['position', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='RecordPhoto',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('piece', 'the piece'), ('process', 'how it was made')], default='piece', editable=False, max_length=7)),
                ('position', models.PositiveIntegerField(default=1, editable=False)),
                ('chosen', models.BooleanField(default=False, editable=False)),
                ('caption', models.CharField(blank=True, max_length=160)),
                ('original', models.FileField(editable=False, max_length=120, upload_to=projects.models.photos.original_path)),
                ('original_name', models.CharField(blank=True, editable=False, max_length=120)),
                ('original_bytes', models.PositiveIntegerField(default=0, editable=False)),
                ('shown', models.FileField(editable=False, max_length=120, upload_to=projects.models.photos.shown_path)),
                ('width', models.PositiveIntegerField(default=0, editable=False)),
                ('height', models.PositiveIntegerField(default=0, editable=False)),
                ('small', models.FileField(editable=False, max_length=120, upload_to=projects.models.photos.shown_path)),
                ('small_width', models.PositiveSmallIntegerField(default=0, editable=False)),
                ('small_height', models.PositiveSmallIntegerField(default=0, editable=False)),
                ('at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('taken_out_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('member', models.ForeignKey(blank=True, editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='photos', to='projects.piecerecord')),
            ],
            options={
                'ordering': ['position', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='RecordWood',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=1)),
                ('key', models.CharField(blank=True, max_length=40)),
                ('name', models.CharField(max_length=80)),
                ('botanical', models.CharField(blank=True, max_length=120, verbose_name='botanical name')),
                ('colour', models.CharField(blank=True, max_length=7, validators=[django.core.validators.RegexValidator('\\A#[0-9A-Fa-f]{6}\\Z')])),
                ('share', projects.models.fields.TidyDecimalField(blank=True, decimal_places=5, max_digits=6, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.'), django.core.validators.MaxValueValidator(Decimal('1'), message='Must be at most %(limit_value)s.')], verbose_name='share')),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='woods', to='projects.piecerecord')),
            ],
            options={
                'ordering': ['position', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SavedSearch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('query', models.CharField(blank=True, max_length=1000)),
                ('studio', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='saved_searches', to='projects.studio')),
            ],
            options={
                'verbose_name_plural': 'saved searches',
                'ordering': ['name', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SerialScheme',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('pattern', models.CharField(default='{year}-{number:03}', help_text='{year} is the year a piece was made in, {yy} its last two figures, {number:03} the number in three figures. With a year in it, each year begins at 1.', max_length=30, validators=[projects.models.serials.validate_pattern])),
                ('counts', models.JSONField(default=dict, editable=False)),
                ('studio', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='serial_scheme', to='projects.studio')),
            ],
        ),
        migrations.CreateModel(
            name='TakenLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField(default=1, editable=False)),
                ('kind', models.CharField(choices=[('wood', 'wood'), ('adhesive', 'adhesive'), ('operation', 'operation')], editable=False, max_length=9)),
                ('key', models.CharField(editable=False, max_length=80)),
                ('name', models.CharField(editable=False, max_length=120)),
                ('estimated', projects.models.fields.TidyDecimalField(blank=True, decimal_places=2, editable=False, max_digits=16, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.')], verbose_name='estimated')),
                ('taken', projects.models.fields.TidyDecimalField(blank=True, decimal_places=2, editable=False, max_digits=16, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.')], verbose_name='taken')),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='taken', to='projects.piecerecord')),
            ],
            options={
                'ordering': ['position', 'pk'],
            },
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'year'], name='record_by_year'),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'place', 'year'], name='record_by_place'),
        ),
        migrations.AddIndex(
            model_name='piecerecord',
            index=models.Index(fields=['studio', 'form'], name='record_by_form'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.UniqueConstraint(fields=('studio', 'serial'), name='record_serial_once_a_studio', violation_error_message='The studio already has a piece of this serial number.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.UniqueConstraint(condition=models.Q(('commission__isnull', False)), fields=('commission', 'piece'), name='record_once_a_piece', violation_error_message='This piece is in the log already.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(('serial', ''), _negated=True), name='record_serial_given', violation_error_message='The serial must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(('title', ''), _negated=True), name='record_title_given', violation_error_message='The title must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(('place__in', ['studio', 'consigned', 'sold', 'lent', 'given'])), name='record_place_known', violation_error_message='The place must be one of: studio, consigned, sold, lent, given.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('year__gte', Decimal('1900')), ('year__lte', Decimal('2200'))), ('year__isnull', True), _connector='OR'), name='record_year_in_range', violation_error_message='The year must be from 1900 to 2200.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('height__gte', Decimal('0.001')), ('height__lte', Decimal('10000'))), ('height__isnull', True), _connector='OR'), name='record_height_in_range', violation_error_message='The height must be from 0.001 to 10000.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('diameter__gte', Decimal('0.001')), ('diameter__lte', Decimal('10000'))), ('diameter__isnull', True), _connector='OR'), name='record_diameter_in_range', violation_error_message='The diameter must be from 0.001 to 10000.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('mass_g__gte', Decimal('0.1')), ('mass_g__lte', Decimal('1000000'))), ('mass_g__isnull', True), _connector='OR'), name='record_mass_g_in_range', violation_error_message='The mass g must be from 0.1 to 1000000.'),
        ),
        migrations.AddConstraint(
            model_name='piecerecord',
            constraint=models.CheckConstraint(condition=models.Q(('price__gte', Decimal('0')), ('price__isnull', True), _connector='OR'), name='record_price_in_range', violation_error_message='The price must be at least 0.'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['studio', 'consigned', 'sold', 'lent', 'given'])), name='place_kind_known', violation_error_message='The kind must be one of: studio, consigned, sold, lent, given.'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(('price__gte', Decimal('0')), ('price__isnull', True), _connector='OR'), name='place_price_in_range', violation_error_message='The price must be at least 0.'),
        ),
        migrations.AddConstraint(
            model_name='recordcoat',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='record_coat_name_given', violation_error_message='The name must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='recordphoto',
            constraint=models.UniqueConstraint(condition=models.Q(('chosen', True)), fields=('record',), name='photo_one_chosen', violation_error_message='One photo is chosen already.'),
        ),
        migrations.AddConstraint(
            model_name='recordphoto',
            constraint=models.CheckConstraint(condition=models.Q(('chosen', False), ('taken_out_at__isnull', True), _connector='OR'), name='photo_chosen_is_there', violation_error_message='A photo that was taken out cannot be the chosen one.'),
        ),
        migrations.AddConstraint(
            model_name='recordphoto',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['piece', 'process'])), name='photo_kind_known', violation_error_message='The kind must be one of: piece, process.'),
        ),
        migrations.AddIndex(
            model_name='recordwood',
            index=models.Index(fields=['record', 'name'], name='record_wood_by_name'),
        ),
        migrations.AddConstraint(
            model_name='recordwood',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='record_wood_name_given', violation_error_message='The name must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='recordwood',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('share__gte', Decimal('0')), ('share__lte', Decimal('1'))), ('share__isnull', True), _connector='OR'), name='record_wood_share_in_range', violation_error_message='The share must be from 0 to 1.'),
        ),
        migrations.AddConstraint(
            model_name='savedsearch',
            constraint=models.UniqueConstraint(fields=('studio', 'name'), name='saved_search_once_a_studio', violation_error_message='There is a saved search of this name already.'),
        ),
        migrations.AddConstraint(
            model_name='savedsearch',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='saved_search_name_given', violation_error_message='The name must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='serialscheme',
            constraint=models.CheckConstraint(condition=models.Q(('pattern', ''), _negated=True), name='serial_scheme_has_pattern', violation_error_message='The pattern must not be empty.'),
        ),
        migrations.AddConstraint(
            model_name='takenline',
            constraint=models.UniqueConstraint(fields=('record', 'kind', 'key'), name='taken_line_once', violation_error_message='This line is there already.'),
        ),
        migrations.AddConstraint(
            model_name='takenline',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['wood', 'adhesive', 'operation'])), name='taken_line_kind_known', violation_error_message='The kind must be one of: wood, adhesive, operation.'),
        ),
        migrations.AddConstraint(
            model_name='takenline',
            constraint=models.CheckConstraint(condition=models.Q(('estimated__gte', Decimal('0')), ('estimated__isnull', True), _connector='OR'), name='taken_line_estimated_in_range', violation_error_message='The estimated must be at least 0.'),
        ),
        migrations.AddConstraint(
            model_name='takenline',
            constraint=models.CheckConstraint(condition=models.Q(('taken__gte', Decimal('0')), ('taken__isnull', True), _connector='OR'), name='taken_line_taken_in_range', violation_error_message='The taken must be at least 0.'),
        ),
        migrations.RunPython(index_words, drop_index),
    ]
